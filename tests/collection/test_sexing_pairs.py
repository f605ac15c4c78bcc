"""How many animals make a pair, against exact cases and scipy.stats."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from collection.sexing import animals_for_pair, draws_for_pair
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
