"""How many animals make a pair, against exact cases and scipy.stats."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from collection.sexing import (
    animals_for,
    animals_for_pair,
    chance_among,
    chance_of,
    chance_of_draw,
    draws_for_pair,
)
from tests.reference import numbers, rows


@pytest.mark.parametrize("row", rows("pairs"), ids=lambda row: " ".join(row.values()))
def test_numbers_for_a_pair_equal_the_reference(row):
    confidence = float(row["confidence"])
    if row["question"] == "draws":
        found = draws_for_pair(int(row["total"]), int(row["males"]), confidence)
    else:
        belief = numbers(row["female_fraction"])
        found = animals_for_pair(confidence, tuple(belief) if len(belief) == 2 else belief[0], float(row["survival"]))
    assert found == int(row["expected"])


def pair_chance(n: int, p: float, s: float) -> float:
    """Both sexes among n young, by summing over how many females and males live."""
    return 1 - stats.binom.pmf(0, n, s * p) - stats.binom.pmf(0, n, s * (1 - p)) + stats.binom.pmf(0, n, s)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 0.999), st.floats(0.1, 0.9), st.floats(0.2, 1))
def test_the_number_is_the_least_that_suffices(confidence, p, s):
    n = animals_for_pair(confidence, p, s)
    assert pair_chance(n, p, s) >= confidence - 1e-9
    assert n == 2 or pair_chance(n - 1, p, s) < confidence + 1e-9


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 0.95), st.floats(1, 30), st.floats(1, 30))
def test_a_belief_in_the_sex_ratio_agrees_with_the_beta_binomial(confidence, a, b):
    n = animals_for_pair(confidence, (a, b))
    chance = [1 - stats.betabinom.pmf(0, k, a, b) - stats.betabinom.pmf(k, k, a, b) for k in (n - 1, n)]
    assert chance[1] >= confidence - 1e-9
    assert n == 2 or chance[0] < confidence + 1e-9


def test_a_belief_with_losses_agrees_with_a_sum_over_survivors():
    """By hand: of n young k live with a binomial chance, and k hold a pair with the beta-binomial one."""

    def chance(n):
        k = range(1, n + 1)
        holds = [1 - stats.betabinom.pmf(0, j, 10, 10) - stats.betabinom.pmf(j, j, 10, 10) for j in k]
        return sum(stats.binom.pmf(j, n, 0.7) * h for j, h in zip(k, holds, strict=True))

    n = animals_for_pair(0.95, (10, 10), 0.7)
    assert chance(n - 1) < 0.95 <= chance(n)


def test_a_belief_may_be_any_pair_of_numbers():
    for belief in ([10, 10], np.array([10, 10]), (10.0, 10.0)):
        assert animals_for_pair(0.95, belief, 0.7) == animals_for_pair(0.95, (10, 10), 0.7)


def test_a_firm_belief_is_the_plain_share():
    assert animals_for_pair(0.95, (1e6, 1e6), 0.8) == animals_for_pair(0.95, 0.5, 0.8)


def test_more_doubt_about_the_sex_ratio_asks_for_more_animals():
    assert animals_for_pair(0.95, (1, 1)) > animals_for_pair(0.95, (10, 10)) >= animals_for_pair(0.95, 0.5)


def test_the_chance_of_the_drawn_pair_is_the_printed_one():
    """R6.4: of 20 with 6 males, 6 drawn give .922497 and 7 give .955728, to half a unit of the last digit."""
    assert draws_for_pair(20, 6, 0.9224965) == 6
    assert draws_for_pair(20, 6, 0.9224975) == 7
    assert draws_for_pair(20, 6, 0.9557275) == 7
    assert draws_for_pair(20, 6, 0.9557285) == 8


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 300), st.data())
def test_draws_agree_with_the_hypergeometric(total, data):
    males = data.draw(st.integers(1, total - 1))
    n = draws_for_pair(total, males, 0.9)
    draw = stats.hypergeom(total, males, n)
    assert 1 - draw.pmf(0) - draw.pmf(n) >= 0.9 - 1e-9
    assert draws_for_pair(total, total - males, 0.9) == n


@pytest.mark.parametrize(
    ("confidence", "fraction", "survival"),
    [(1, 0.5, 1), (0.95, 0, 1), (0.95, 1, 1), (0.95, 0.5, 0), (-0.1, 0.5, 1), (0.95, 0.5, 1.1)],
)
def test_questions_without_an_answer_are_refused(confidence, fraction, survival):
    with pytest.raises(ValueError, match="leaves nothing to work out"):
        animals_for_pair(confidence, fraction, survival)


def test_a_belief_that_is_none_is_refused():
    with pytest.raises(ValueError, match="two numbers above zero"):
        animals_for_pair(0.95, (0, 1))


def test_a_number_nobody_could_raise_is_refused():
    with pytest.raises(ValueError, match="could raise"):
        animals_for_pair(0.999, 1e-6)


@pytest.mark.parametrize("males", [0, 20, 21, -1])
def test_animals_of_one_sex_hold_no_pair(males):
    with pytest.raises(ValueError, match="all of one sex"):
        draws_for_pair(20, males, 0.95)


@pytest.mark.parametrize("belief", [0.5, 0.2, (10.0, 10.0), (1.0, 1.0), (2.0, 5.0)])
@pytest.mark.parametrize("survival", [1.0, 0.7, 0.15])
@pytest.mark.parametrize(("females", "males"), [(1, 1), (2, 1), (3, 2)])
def test_several_of_each_agree_with_a_sum_over_all_that_can_happen(belief, survival, females, males):
    """By hand with scipy: k live, j of them female."""

    def lucky(n):
        total = 0.0
        for k in range(n + 1):
            share = stats.betabinom(k, *belief) if isinstance(belief, tuple) else stats.binom(k, belief)
            total += stats.binom.pmf(k, n, survival) * sum(share.pmf(j) for j in range(females, k - males + 1))
        return total

    for n in (0, 1, 4, 9, 17):
        assert chance_of(n, females, males, belief, survival) == pytest.approx(lucky(n), abs=1e-10)


def test_at_least_two_females_of_ten_equal_the_reference():
    """R6.6: scipy.stats.binom.sf(1, 10, p) is the chance of two females; the males are made sure to be there."""
    for survival, expected in ((1.0, 0.989258), (0.7, 0.914046)):
        no_male = (1 - survival * 0.5) ** 10
        both = chance_of(10, 2, 1, 0.5, survival)
        assert expected - no_male <= both + 1e-6 <= expected + 1e-6


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99, 0.999])
def test_the_number_is_found_by_counting_up(confidence):
    for belief in (0.5, 0.37, 0.9, (3.0, 4.0)):
        counted = next(n for n in range(2, 400) if chance_of(n, 1, 1, belief, 0.8) >= confidence)
        assert animals_for_pair(confidence, belief, 0.8) == counted


def test_almost_enough_is_not_enough():
    """R6.3: 40 % females and 80 % living give 0.9489 with eight, and that is not 0.95."""
    assert chance_of(8, 1, 1, 0.4, 0.8) == pytest.approx(0.9489, abs=5e-5)
    assert animals_for_pair(0.95, 0.4, 0.8) == 9


def test_levels_that_are_met_exactly_are_met():
    """Beta(1, 1): P = 1 − 2/(n + 1); one male of N: P = n/N."""
    for n in (3, 39, 199, 1999, 19999, 199_999):
        assert animals_for_pair(1 - 2 / (n + 1), (1, 1)) == n
    for total, confidence, drawn in ((10, 0.9, 9), (20, 0.95, 19), (100, 0.95, 95), (1_000_000, 0.9, 900_000)):
        assert draws_for_pair(total, 1, confidence) == drawn


def test_the_edges_of_what_can_be_asked():
    assert animals_for_pair(0, 0.5) == 2
    assert draws_for_pair(2, 1, 0.95) == 2
    assert draws_for_pair(20, 6, 0) == 2
    assert draws_for_pair(20, 6, 1) == 15  # all fourteen females, and one more
    assert animals_for_pair(0.95, 1e-5) == 299_572
    assert chance_of(2, 1, 1, 0.5) == pytest.approx(0.5)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -0.5, 1.5])
def test_numbers_that_are_none_are_refused(bad):
    for call in (
        lambda: animals_for_pair(bad),
        lambda: animals_for_pair(0.95, bad),
        lambda: animals_for_pair(0.95, (-abs(bad), 1)),
        lambda: animals_for_pair(0.95, 0.5, bad),
        lambda: draws_for_pair(20, 6, bad),
        lambda: draws_for_pair(bad, 6, 0.95),
        lambda: draws_for_pair(20, bad, 0.95),
        lambda: chance_of(bad),
        lambda: chance_among([bad]),
    ):
        with pytest.raises(ValueError, match=r"share between 0 and 1|whole number|above zero|one sex"):
            call()


def test_known_chances_hold_a_pair_as_the_formula_says():
    assert chance_among([0.5] * 6) == pytest.approx(chance_of(6))
    assert chance_among([0.5] * 6, 0.7) == pytest.approx(chance_of(6, survival=0.7))
    assert chance_among([1.0, 0.0]) == 1
    assert chance_among([1.0, 1.0]) == chance_among([]) == 0


def test_more_than_fifty_of_a_sex_or_part_of_an_animal_is_refused():
    for females, males in ((0, 1), (1, 51), (1.5, 1)):
        with pytest.raises(ValueError, match="at least one and at most fifty"):
            animals_for(females, males, 0.95)


@given(st.integers(2, 60), st.data())
def test_what_is_drawn_agrees_with_the_hypergeometric(total, data):
    males, drawn = (data.draw(st.integers(0, total)) for _ in range(2))
    sexes = stats.hypergeom(total, males, drawn)
    expected = 1 - sexes.pmf(0) - (sexes.pmf(drawn) if drawn else 0)
    assert chance_of_draw(total, males, drawn) == pytest.approx(max(expected, 0), abs=1e-10)
    with pytest.raises(ValueError, match="not more males"):
        chance_of_draw(total, total + 1, drawn)
