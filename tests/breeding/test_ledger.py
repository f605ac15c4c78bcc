"""The books of a clutch: no head appears or vanishes without an entry."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breeding.ledger import Count, Leaving, books, funnel, shares

DAY = date(2026, 5, 1)


def on(n: int) -> date:
    return DAY + timedelta(days=n)


def count(n, stage, alive, dead=0, cause="", sure=True) -> Count:
    return Count(on(n), stage, alive, dead, cause, sure)


def test_before_the_first_count_there_are_no_books():
    assert books([]) is None


def test_a_clutch_that_balances_says_so_with_its_numbers():
    found = books([count(0, "egg", 182), count(20, "ewl", 176, 6, "infertile")], [Leaving(on(30), 176, "housed")])
    assert found.balances
    assert found.sentence == "182 at the opening count = 6 dead + 176 taken out + 0 here. It balances."
    assert found.causes == {"infertile": 6}


def test_missing_heads_are_named_at_the_day_they_were_missed():
    found = books([count(0, "egg", 100), count(10, "ewl", 90, 4)])
    assert [line.short for line in found.lines] == [None, 6]
    assert "6 not accounted for" in found.sentence


def test_heads_too_many_are_named_too():
    found = books([count(0, "egg", 100), count(10, "ewl", 103)])
    assert found.short == -3
    assert "3 more than there can be" in found.sentence


def test_stages_of_one_day_are_one_round_of_counting():
    found = books([count(0, "egg", 100), count(10, "egg", 20), count(10, "ewl", 78, 2)])
    assert found.lines[1].stages == {"egg": 20, "ewl": 78}
    assert found.balances


def test_an_estimate_gives_no_more_than_a_hint():
    found = books([count(0, "egg", 100, sure=False), count(10, "ewl", 90)])
    assert found.lines[1].short is None
    assert "no more than a hint" in found.sentence


def test_what_left_between_two_counts_is_not_missing():
    leavings = [Leaving(on(5), 30, "housed"), Leaving(on(12), 50, "shared")]
    found = books([count(0, "spiderling", 100), count(10, "spiderling", 70), count(20, "spiderling", 20)], leavings)
    assert [line.short for line in found.lines[1:]] == [0, 0]
    assert found.balances


def test_on_one_day_they_are_counted_before_they_are_taken_out():
    found = books([count(0, "egg", 100), count(9, "spiderling", 90, 10)], [Leaving(on(9), 90, "housed")])
    assert (found.balances, found.remaining) == (True, 0)


@given(st.integers(0, 500), st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=8))
def test_books_kept_honestly_always_balance(opening, steps):
    counts, leavings, here = [count(0, "egg", opening)], [], opening
    for n, (dead, out) in enumerate(steps, start=1):
        died, taken = min(dead, here), min(out, here - min(dead, here))
        here -= died + taken
        leavings.append(Leaving(on(2 * n - 1), taken, "housed"))
        counts.append(count(2 * n, "spiderling", here, died))
    found = books(counts, leavings)
    assert found.balances
    assert all(line.short in (None, 0) for line in found.lines)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 300), st.integers(0, 50)), min_size=1, max_size=10))
def test_whatever_was_written_the_gap_is_exactly_what_no_entry_explains(rows):
    found = books([count(n, "egg", alive, dead) for n, alive, dead in rows])
    assert found.opening == found.dead + found.left + found.remaining + found.short
    assert sum(line.short or 0 for line in found.lines) == found.short


def test_numbers_below_0_are_refused():
    with pytest.raises(ValueError, match="below 0"):
        books([count(0, "egg", -1)])


def test_a_funnel_gives_shares_of_the_step_before_and_of_the_first():
    # Waller & Verdi 2016: 39 eggs, 27 fertile, 21 released: 69.2 %, 77.8 %, 53.8 % overall
    steps = funnel([("eggs", 39), ("fertile", 27), ("released", 21)])
    assert [round(step.of_previous, 3) for step in steps[1:]] == [0.692, 0.778]
    assert round(steps[2].of_first, 3) == 0.538


def test_a_funnel_that_begins_with_nothing_divides_by_nothing():
    assert [step.of_first for step in funnel([("eggs", 0), ("housed", 0)])] == [None, None]
    with pytest.raises(ValueError, match="below 0"):
        funnel([("eggs", -1)])


def test_the_odd_animal_stays_with_the_females_owner():
    assert shares(181, [50]) == [90]
    assert shares(100, [100 / 3, 100 / 3]) == [33, 33]
    assert shares(200, [50]) == [100]


def test_unless_it_was_agreed_to_be_theirs():
    assert shares(181, [50], [True]) == [91]
    assert shares(3, [50, 50], [True, True]) == [2, 1]


@given(st.integers(0, 2000), st.lists(st.floats(0, 50), max_size=2))
def test_shares_never_give_more_than_there_is(total, percents):
    assert 0 <= sum(shares(total, percents)) <= total


@pytest.mark.parametrize(("total", "percents"), [(10, [60, 50]), (10, [-1]), (-1, [50])])
def test_impossible_shares_are_refused(total, percents):
    with pytest.raises(ValueError, match="share"):
        shares(total, percents)
