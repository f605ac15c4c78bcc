"""Curves of survival against published tables, and what happens at the edges; tests/reference/SOURCES.md."""

import math

import pytest

from collection import survival
from collection.survival import cumulative_incidence, kaplan_meier, log_rank
from tests.reference import numbers, rows

DATA = {row["name"]: {key: numbers(row[key]) for key in ("durations", "outcomes", "entries", "groups")}
        for row in rows("survival_data")}  # fmt: skip
NAN, INF = math.nan, math.inf


def curve_of(data):
    return kaplan_meier(data["durations"], [x > 0 for x in data["outcomes"]], data["entries"] or None)


def values_of(row):
    """What this program says for a row of the reference."""
    data, times, what = DATA[row["data"]], numbers(row["times"]), row["quantity"]
    if what in {"chi_square", "p"}:
        return [getattr(log_rank(data["durations"], data["outcomes"], data["groups"]), what)]
    if what == "median":
        return [survival.median(curve_of(data))]
    causes = cumulative_incidence(data["durations"], data["outcomes"], data["entries"] or None)
    if what.startswith("chance"):
        return [survival.chance_of_cause(causes[1], curve_of(data), *times)]
    if what.startswith("cause"):
        steps = {step.time: step for step in causes[int(what[6])]}
        return [steps[time].standard_error if "error" in what else steps[time].incidence for time in times]
    if what == "survival":
        return [survival.share_at(curve_of(data), time) for time in times]
    return [getattr(step, what) for step in curve_of(data) if step.time in times]


@pytest.mark.parametrize("row", rows("survival"), ids=lambda row: f"{row['id']} {row['data']} {row['quantity']}")
def test_curves_equal_the_reference(row):
    assert values_of(row) == pytest.approx(numbers(row["expected"]), abs=float(row["tolerance"]))


def test_one_minus_the_curve_of_one_cause_would_overstate_it():
    data = DATA["causes"]
    alone = kaplan_meier(data["durations"], [x == 1 for x in data["outcomes"]])
    assert 1 - alone[-1].survival == pytest.approx(0.732639, abs=1e-6)
    assert cumulative_incidence(data["durations"], data["outcomes"])[1][-1].incidence == pytest.approx(
        0.546296, abs=1e-6
    )


def test_only_events_make_steps_and_ties_make_one():
    steps = kaplan_meier([4, 4, 4, 6, 9], [1, 1, 0, 0, 1])
    assert [(step.time, step.at_risk, step.events) for step in steps] == [(4, 5, 2), (9, 1, 1)]


def test_where_nobody_died_there_is_no_step_and_no_median():
    assert kaplan_meier([3, 5], [0, 0]) == []
    assert survival.median([]) is None
    assert cumulative_incidence([3, 5], [0, 0]) == {}
    assert kaplan_meier([], []) == []


def test_a_median_that_is_not_reached_does_not_exist():
    assert survival.median(kaplan_meier([3, 5, 8], [1, 0, 0])) is None
    assert survival.median(kaplan_meier([3, 5], [1, 0])) == 3


def test_where_all_die_the_curve_ends_at_0_and_keeps_the_upper_limit_before():
    first, last = kaplan_meier([3, 5], [1, 1])
    assert (last.survival, last.standard_error, last.low, last.high) == (0, 0, 0, first.high)
    assert kaplan_meier([5], [1]) == [(5, 1, 1, 0, 0, 0, 1)]


def test_a_death_at_0_counts_when_everybody_was_watched_from_the_start():
    assert kaplan_meier([0, 4], [1, 0])[0].survival == 0.5


def test_who_came_and_went_at_the_same_time_was_never_at_risk():
    assert kaplan_meier([4, 7, 9], [1, 1, 0], [4, 0, 0]) == kaplan_meier([7, 9], [1, 0], [0, 0])
    assert kaplan_meier([4], [1], [4]) == []


def test_who_comes_at_the_time_of_a_death_is_not_at_risk_of_it():
    assert [step.at_risk for step in kaplan_meier([4, 9, 9], [1, 1, 0], [0, 4, 0])] == [2, 2]


def test_an_early_risk_set_that_dies_out_makes_the_curve_begin_later():
    early = ([2, 8, 9], [1, 1, 0], [0, 5, 5])
    assert [(step.time, step.survival) for step in kaplan_meier(*early)] == [(8, 0.5)]
    assert survival.begins(*early) == 2
    assert survival.begins([8, 9], [1, 0], [5, 4]) == 4
    assert cumulative_incidence(*early) == {1: kaplan_meier([8, 9], [1, 0])}


def test_the_incidence_of_the_only_cause_is_what_the_curve_lost():
    data = DATA["6-MP"]
    lost = cumulative_incidence(data["durations"], data["outcomes"])[1]
    for step, curve in zip(lost, curve_of(data), strict=True):
        assert step.incidence == pytest.approx(1 - curve.survival)
        assert step.standard_error == pytest.approx(curve.standard_error)


def test_a_group_of_which_nobody_was_at_risk_counts_for_nothing():
    two = log_rank([3, 5, 7, 9], [1, 1, 1, 0], ["a", "a", "b", "b"])
    three = log_rank([3, 5, 7, 9, 4], [1, 1, 1, 0, 1], ["a", "a", "b", "b", "c"], [0, 0, 0, 0, 4])
    assert three == pytest.approx(two)
    assert log_rank([3, 5, 8], [0, 0, 0], ["a", "a", "b"]) == (0, 1)
    assert log_rank([3, 5], [1, 1], ["a", "b"], [0, 5]) == (0, 1)


def test_whole_tables_of_numpy_are_taken_too():
    np = pytest.importorskip("numpy")
    assert kaplan_meier(np.array([3, 5]), np.array([True, False])) == kaplan_meier([3, 5], [1, 0])
    assert cumulative_incidence(np.array([3, 5]), np.array([2, 0]))[2][0].incidence == 0.5


def test_a_column_of_words_may_hold_its_zeros_as_words():
    np = pytest.importorskip("numpy")
    mixed = np.array(["eaten", 0, "molt", 0])  # numpy makes words of the zeros
    assert set(cumulative_incidence([2, 3, 4, 5], mixed)) == {"eaten", "molt"}


def test_areas_under_the_curve_are_mean_times_lived():
    assert survival.mean_within(kaplan_meier([2, 4], [1, 1]), 10) == 3
    assert survival.mean_within(kaplan_meier([2, 4], [1, 1]), 3) == 2.5
    assert survival.mean_within([], 7, 2) == 5


def test_numbers_at_risk_are_those_of_just_before():
    assert survival.at_risk([3, 5, 8], [0, 3, 4, 8, 9], [0, 2, 8]) == [0, 2, 1, 0, 0]


def test_nobody_left_alive_has_no_chance_of_anything():
    steps = kaplan_meier([5], [1])
    assert survival.chance_of_cause(steps, steps, 6, 3) is None


REFUSED = [
    (lambda: kaplan_meier([3, NAN], [1, 0]), "number from zero up, not nan"),
    (lambda: kaplan_meier([3, INF], [1, 0]), "not inf"),
    (lambda: kaplan_meier([-1], [1]), r"not -1\.0"),
    (lambda: kaplan_meier([3], [2]), "yes or no, 1 or 0, not 2"),
    (lambda: kaplan_meier([3], [NAN]), "not nan"),
    (lambda: kaplan_meier([3, 4], [1]), "There are 2 times and 1 outcome;"),
    (lambda: kaplan_meier([3, 4], [1, 0], [1]), "2 times and 1 entry;"),
    (lambda: kaplan_meier([3], [1], [4]), "in at 4, out at 3"),
    (lambda: kaplan_meier([3], [1], [NAN]), "time of entry"),
    (lambda: cumulative_incidence([3], [NAN]), "not nan"),
    (lambda: cumulative_incidence([3], [-1]), "not -1"),
    (lambda: cumulative_incidence([3], [None]), "not None"),
    (lambda: cumulative_incidence([3], [""]), "0 for none yet"),
    (lambda: kaplan_meier([3], []), "There is 1 time and 0 outcomes"),
    (lambda: log_rank([3, 4], [1, 1], ["a"]), "2 times and 1 group;"),
    (lambda: log_rank([3, 4], [1, 1], ["a", "a"]), "two groups"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_what_cannot_be_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
