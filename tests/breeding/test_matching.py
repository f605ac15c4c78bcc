"""The best set of pairs: printed optima, brute force, and what is refused."""

import math
import time
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding.matching import best_plan


def total(plan, scores):
    return sum(scores[pair] for pair in plan)


def table(rows, sign=1):
    return {(i, j): sign * value for i, row in enumerate(rows) for j, value in enumerate(row)}


def allowed(plan, female_limit, male_limit):
    females, males = [pair[0] for pair in plan], [pair[1] for pair in plan]
    return all(females.count(one) <= female_limit for one in females) and all(
        males.count(one) <= male_limit for one in males
    )


def brute(scores, female_limit, male_limit, pairs):
    """The best total over every set of pairs; None where there is none of this size."""
    sizes = range(len(scores) + 1) if pairs is None else [pairs]
    sets = (chosen for size in sizes for chosen in combinations(scores, size))
    return max((total(chosen, scores) for chosen in sets if allowed(chosen, female_limit, male_limit)), default=None)


def test_r9_1_the_printed_example_costs_5():
    rows = [[4, 1, 3], [2, 0, 5], [3, 2, 2]]
    assert best_plan(table(rows, -1), pairs=3) == [(0, 1), (1, 0), (2, 2)]


def test_r9_2_five_workers_and_four_tasks_cost_265():
    rows = [[90, 80, 75, 70], [35, 85, 55, 65], [125, 95, 90, 95], [45, 110, 95, 115], [50, 100, 90, 100]]
    scores = table(rows, -1)
    assert total(best_plan(scores, pairs=4), scores) == -265


def test_r9_3_males_twice_and_none_above_an_eighth():
    rows = [[0, 0.25, 0.0625, 0.125, 0.03125], [0.125, 0, 0.25, 0.0625, 0.0625], [0.03125, 0.125, 0.125, 0, 0.25]]
    scores = {(f, m): -rows[m][f] for m in range(3) for f in range(5) if rows[m][f] <= 0.125}
    assert total(best_plan(scores, male_limit=2, pairs=4), scores) == -0.03125


@pytest.mark.parametrize(
    ("rows", "cost"),
    [
        ([[400, 150, 400], [400, 450, 600], [300, 225, 300]], 850),
        ([[400, 150, 400, 1], [400, 450, 600, 2], [300, 225, 300, 3]], 452),  # more males than females
        ([[10, 10, 8], [9, 8, 1], [9, 7, 4]], 18),
        ([[10, 10, 8, 11], [9, 8, 1, 1], [9, 7, 4, 10]], 15),
    ],
)
def test_the_printed_examples_of_a_second_program(rows, cost):
    """Known: the examples of the Python package munkres."""
    for values in (rows, np.array(rows), np.array(rows, dtype=np.float32)):
        scores = {(i, j): -value for i, row in enumerate(values) for j, value in enumerate(row)}
        assert total(best_plan(scores, pairs=np.int64(3)), scores) == -cost


@pytest.mark.parametrize("seed", range(3))
def test_with_limits_and_a_fixed_number_it_is_what_a_mixed_integer_programme_finds(seed):
    from scipy.optimize import LinearConstraint, milp

    draw = np.random.default_rng(seed)
    scores = {(f, m): int(draw.integers(-20, 100)) for f in range(9) for m in range(6) if draw.random() < 0.7}
    keys = list(scores)
    rules = [[key[0] == f for key in keys] for f in range(9)] + [[key[1] == m for key in keys] for m in range(6)]
    rules.append([1] * len(keys))
    least, most = [0] * 15 + [11], [2] * 9 + [3] * 6 + [11]
    judge = milp(
        -np.array(list(scores.values())), constraints=LinearConstraint(np.array(rules, dtype=float), least, most),
        integrality=np.ones(len(keys)), bounds=(0, 1),
    )  # fmt: skip
    assert total(best_plan(scores, 2, 3, 11), scores) == round(-judge.fun)


@pytest.mark.parametrize(("sign", "best"), [(-1, 103), (1, 580)])
def test_r9_4_seven_by_seven_random_costs(sign, best):
    rows = np.random.default_rng(5).integers(0, 100, (7, 7)).tolist()
    scores = table(rows, sign)
    assert total(best_plan(scores, pairs=7), scores) == sign * best


def test_r9_5_too_few_pairs_allowed_is_no_silent_answer():
    scores = {("a", "x"): 1.0, ("b", "x"): 2.0}
    with pytest.raises(ValueError, match="Only one pair can be made under these limits, not 2"):
        best_plan(scores, pairs=2)


def test_it_agrees_with_scipy_on_forty_by_forty():
    from scipy.optimize import linear_sum_assignment

    rows = np.random.default_rng(9).random((40, 40))
    scores = table(rows.tolist())
    row, column = linear_sum_assignment(rows, maximize=True)
    assert total(best_plan(scores), scores) == pytest.approx(float(rows[row, column].sum()), abs=1e-12)


def test_a_greedy_choice_would_be_worse():
    scores = {("A", "x"): 0.9, ("A", "y"): 0.8, ("B", "x"): 0.85, ("B", "y"): 0.1}
    assert best_plan(scores) == [("A", "y"), ("B", "x")]


def test_a_loss_is_taken_only_when_so_many_are_asked_for():
    scores = {("A", "x"): 0.5, ("B", "y"): -0.1, ("C", "z"): 0.0}
    assert best_plan(scores) == [("A", "x")]
    assert best_plan(scores, pairs=3) == [("A", "x"), ("B", "y"), ("C", "z")]


def test_limits_may_differ_from_animal_to_animal():
    scores = {(f, m): 1.0 for f in "ABCD" for m in "xy"}
    plan = best_plan(scores, male_limit={"x": 3, "y": 0})
    assert len(plan) == 3
    assert {male for _, male in plan} == {"x"}


def test_no_pairs_and_none_wanted():
    assert best_plan({}) == []
    assert best_plan({("A", "x"): 5.0}, pairs=0) == []


def test_scores_of_any_kind_of_number_are_taken_as_they_are():
    scores = {("A", "x"): np.int64(5), ("A", "y"): 1e-300, ("B", "x"): Fraction(13, 3), ("B", "y"): np.float32(0.5)}
    assert best_plan(scores, np.int64(1), {"x": np.int64(1)}) == [("A", "x"), ("B", "y")]


def test_a_hundred_females_and_males_take_less_than_a_second():
    scores = table(np.random.default_rng(3).random((100, 100)).tolist())
    began = time.process_time()
    assert total(best_plan(scores), scores) == pytest.approx(98.41228128754443)
    assert time.process_time() - began < 1.5


def test_a_difference_in_the_last_digit_decides():
    small = math.nextafter(0.3, 1)
    assert best_plan({("A", "x"): 0.3, ("B", "x"): small}) == [("B", "x")]


@pytest.mark.parametrize("score", [math.nan, math.inf, -math.inf, None, "5"])
def test_a_score_that_is_no_number_is_refused(score):
    with pytest.raises(ValueError, match="The score of A with x is no number"):
        best_plan({("A", "x"): score})


@pytest.mark.parametrize("limit", [-1, 1.5, True, {"A": -2}])
def test_a_limit_that_is_no_number_of_times_is_refused(limit):
    with pytest.raises(ValueError, match="whole number"):
        best_plan({("A", "x"): 1.0}, female_limit=limit)


def test_a_negative_number_of_pairs_is_refused():
    with pytest.raises(ValueError, match="number of pairs"):
        best_plan({("A", "x"): 1.0}, pairs=-1)


small_scores = st.dictionaries(st.tuples(st.integers(0, 3), st.integers(0, 3)), st.integers(-4, 6), max_size=10)


@given(small_scores, st.integers(0, 2), st.integers(0, 3), st.one_of(st.none(), st.integers(0, 4)))
@settings(max_examples=80, deadline=None)
def test_no_other_set_of_pairs_is_better(scores, female_limit, male_limit, pairs):
    best = brute(scores, female_limit, male_limit, pairs)
    if best is None:
        with pytest.raises(ValueError, match="can be made"):
            best_plan(scores, female_limit, male_limit, pairs)
        return
    plan = best_plan(scores, female_limit, male_limit, pairs)
    assert allowed(plan, female_limit, male_limit)
    assert len(set(plan)) == len(plan)
    assert total(plan, scores) == best


@given(small_scores, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_the_order_of_the_mapping_does_not_matter(scores, rng):
    pairs = list(scores.items())
    rng.shuffle(pairs)
    assert best_plan(dict(pairs)) == best_plan(scores)
