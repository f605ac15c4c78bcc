"""The book of a feeder: nothing appears or vanishes without a line."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from husbandry.feeder_ledger import COMES, Entry, EntryKind, book, merge_meals

DAY = date(2026, 11, 1)


def entry(kind, number, day=0, hour=12):
    return Entry(date(2026, 11, 1 + day), datetime(2026, 11, 1 + day, hour, tzinfo=UTC), EntryKind(kind), number)


def test_a_week_of_crickets_by_hand():
    entries = [
        entry("counted", 20),
        entry("bought", 100, 1),
        entry("fed", 18, 2),
        entry("lost", 5, 3),
        entry("fed", 12, 4),
        entry("counted", 80, 5),
        entry("given", 10, 6),
        entry("culture", 4, 7),
    ]
    assert [(line.change, line.balance) for line in book(entries)] == [
        (20, 20), (100, 120), (-18, 102), (-5, 97), (-12, 85), (-5, 80), (-10, 70), (4, 74),
    ]  # fmt: skip
    assert [line.unexplained for line in book(entries) if line.unexplained] == [20, -5]


def test_a_count_in_the_morning_does_not_know_of_the_evening():
    lines = book([entry("fed", 3, 0, 19), entry("counted", 30, 0, 8), entry("fed", 2, 0, 7)], opening=40)
    assert [line.balance for line in lines] == [38, 30, 27]


def test_more_fed_than_there_was_is_shown_not_hidden():
    assert book([entry("bought", 5), entry("fed", 8, 1)])[-1].balance == -3


def test_a_number_below_nothing_is_refused():
    with pytest.raises(ValueError, match="negative"):
        entry("bought", -1)


entries = st.lists(
    st.builds(entry, st.sampled_from(list(EntryKind)), st.integers(0, 500), st.integers(0, 20), st.integers(0, 23))
)


@given(entries, st.integers(0, 100))
def test_every_change_has_its_line_and_the_balance_is_their_sum(rows, opening):
    lines = book(rows, opening)
    assert sorted(map(id, rows)) == sorted(id(line.entry) for line in lines)
    balance = opening
    for line in lines:
        balance += line.change
        assert line.balance == balance
        if line.entry.kind is EntryKind.COUNTED:
            assert line.balance == line.entry.number
        else:
            assert line.change == (line.entry.number if line.entry.kind in COMES else -line.entry.number)


@given(entries, st.randoms())
def test_the_order_in_which_entries_are_read_changes_nothing_but_ties(rows, rng):
    unique = list({(row.on, row.at): row for row in rows}.values())
    shuffled = unique[:]
    rng.shuffle(shuffled)
    assert book(shuffled) == book(unique)


@given(entries)
def test_meals_of_a_day_made_one_line_leave_every_other_line_as_it_was(rows):
    whole, short = book(rows), book(merge_meals(rows))
    others = [[line for line in lines if line.entry.kind is not EntryKind.FED] for lines in (whole, short)]
    assert others[0] == others[1]
    assert sum(line.change for line in short) == sum(line.change for line in whole)


@given(entries, entries)
def test_a_book_can_be_read_in_two_halves(before, after):
    half = date(2026, 11, 11)
    first, second = [e for e in before if e.on < half], [e for e in after if e.on >= half]
    opening = book(first)[-1].balance if first else 0
    assert book([*first, *second])[len(first) :] == book(second, opening)
