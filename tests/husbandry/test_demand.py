"""How much prey is eaten, and how much suffices: printed cases, scipy as a judge, and every course written out."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from husbandry.demand import Mouth, Outlast, Prey, acceptance, chance_enough, forecast, learn_use, stock_for

PRINTED = (Path(__file__).parent.parent / "reference" / "counts.csv").read_text(encoding="utf-8")
CASES = list(csv.DictReader(PRINTED.splitlines()))
CRICKET, ROACH = Prey("cricket", 10), Prey("roach", 30)


def number(text):
    return float(text) if text else None


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['id']} {case['confidence']}")
def test_the_worked_cases(case):
    mean, variance = float(case["mean"]), number(case["variance"])
    assert chance_enough(int(case["at"]), mean, variance) == pytest.approx(float(case["chance"]), abs=1e-6)
    if case["stock"]:
        assert stock_for(mean, float(case["confidence"]), variance) == int(case["stock"])


def test_what_was_eaten_teaches_what_will_be():
    """R10.4: 31 in 6 weeks on a belief of 4 in 2 weeks; half as much belief in both weighs less."""
    assert learn_use(31, 6, prior_eaten=4, prior_days=2) == (4.375, 4.921875)
    assert learn_use(0, 0, prior_eaten=4, prior_days=2)[0] == 2


means = st.floats(0.01, 5000)


@given(means, st.floats(0.01, 0.999))
def test_poisson_stock_is_the_quantile_of_scipy(mean, confidence):
    ours = stock_for(mean, confidence)
    assert stats.poisson.cdf(ours, mean) >= confidence - 1e-12
    assert ours == 0 or stats.poisson.cdf(ours - 1, mean) < confidence + 1e-12


@given(means, st.floats(1.001, 50), st.floats(0.01, 0.999))
def test_spread_out_stock_is_the_quantile_of_scipy(mean, ratio, confidence):
    variance = mean * ratio
    ours = stock_for(mean, confidence, variance)
    judge = stats.nbinom(mean * mean / (variance - mean), mean / variance)
    assert judge.cdf(ours) >= confidence - 1e-9
    assert ours == 0 or judge.cdf(ours - 1) < confidence + 1e-9


@given(means, st.floats(0, 1))
def test_a_variance_below_the_mean_errs_on_the_side_of_plenty(mean, ratio):
    assert stock_for(mean, 0.95, mean * ratio) == stock_for(mean, 0.95)


def test_nothing_wanted_needs_nothing():
    assert stock_for(0, 0.99) == 0
    assert chance_enough(0, 0) == 1
    assert chance_enough(-1, 0) == 0


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((-1, 0.95), "zero or more"),
        ((float("nan"), 0.95), "zero or more"),
        ((float("inf"), 0.95), "zero or more"),
        ((5, 0.95, -1), "not negative"),
        ((5, 0.95, float("nan")), "not negative"),
        ((5, 0), "between 0 and 1"),
        ((5, 1), "between 0 and 1"),
        ((5, float("nan")), "between 0 and 1"),
    ],
)
def test_what_no_stock_can_be_made_for_is_refused(arguments, says):
    with pytest.raises(ValueError, match=says):
        stock_for(*arguments)


def courses(mouth, days, day=None, eaten=0, chance=1.0):
    """Every course of offers up to the horizon: what is eaten, with its chance."""
    day = mouth.first if day is None else day
    if mouth.held and mouth.held[0] <= day < mouth.held[1]:
        day = mouth.held[1]
    if day >= days:
        return [(eaten, chance)]
    a = mouth.acceptance
    taken = courses(mouth, days, day + mouth.interval, eaten + mouth.number, chance * a)
    return taken + courses(mouth, days, day + mouth.retry, eaten, chance * (1 - a))


chains = st.builds(
    Mouth,
    prey=st.just(CRICKET),
    number=st.integers(1, 4),
    first=st.integers(0, 14),
    interval=st.integers(3, 9),
    retry=st.integers(2, 5),
    acceptance=st.sampled_from([0.0, 0.35, 0.8, 1.0]),
    held=st.none() | st.tuples(st.integers(0, 8), st.integers(8, 20)),
)


@given(chains)
def test_mean_and_variance_are_those_of_every_course_written_out(mouth):
    [need] = forecast([mouth], days=14)
    for days in (1, 7, 14):
        all_of_them = courses(mouth, days)
        mean = sum(eaten * chance for eaten, chance in all_of_them)
        spread = sum(eaten**2 * chance for eaten, chance in all_of_them) - mean**2
        assert need.mean[days - 1] == pytest.approx(mean, abs=1e-9)
        assert need.variance[days - 1] == pytest.approx(spread, abs=1e-9)
        assert need.stock(days, 0.999) <= need.most[days - 1] >= max(eaten for eaten, chance in all_of_them if chance)


@given(st.lists(chains, min_size=1, max_size=6))
def test_the_needs_of_many_add_up_day_by_day(mouths):
    [together] = forecast(mouths)
    alone = [forecast([mouth])[0] for mouth in mouths]
    assert together.mouths == len(mouths)
    assert together.mean == pytest.approx([sum(day) for day in zip(*(one.mean for one in alone), strict=True)])
    assert sum(together.by_day) == pytest.approx(together.mean[-1])
    assert min(together.by_day) >= 0


def test_who_takes_all_eats_on_each_day_of_its_rhythm():
    [need] = forecast([Mouth(ROACH, 2, 1, 7, 4, 1.0)])
    assert {day: n for day, n in enumerate(need.by_day) if n} == {1: 2, 8: 2, 15: 2, 22: 2}
    assert (need.total, need.variance[-1], need.weeks) == (8, 0, (2, 2, 2, 2))


def test_each_feeder_by_kind_and_size_the_most_wanted_first():
    mouths = [Mouth(ROACH, 1, 0, 28, 14, 1.0), *[Mouth(CRICKET, 3, 0, 7, 4, 0.9)] * 2]
    assert [(need.prey, need.mouths) for need in forecast(mouths)] == [(CRICKET, 2), (ROACH, 1)]
    assert forecast([]) == []


def test_a_stock_runs_out_first_perhaps_then_likely():
    need = forecast([Mouth(CRICKET, 1, day % 28, 28, 14, 0.9) for day in range(280)])[0]
    lasts = need.lasts(55)  # nine of ten a day: 54 in six days, at most 60
    assert (lasts.early, lasts.likely) == (5, 6)
    assert need.lasts(100_000) == need.lasts(need.stock(28, 0.95)) == Outlast(None, None)
    assert need.lasts(0).early == 0


def test_how_far_the_forecast_reaches_is_said():
    [need] = forecast([Mouth(CRICKET, 1, 0, 7, 4, 0.9)])
    with pytest.raises(ValueError, match="reaches 28 days, not 29"):
        need.stock(29)
    with pytest.raises(ValueError, match="one day ahead"):
        forecast([], days=0)


GOOD = Mouth(CRICKET, 1, 0, 7, 4, 0.9)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"interval": 0}, "at least one day"),
        ({"retry": 0}, "at least one day"),
        ({"number": 0}, "at least one prey"),
        ({"first": -1}, "in the past"),
        ({"acceptance": 1.1}, "between 0 and 1"),
        ({"acceptance": float("nan")}, "between 0 and 1"),
        ({"held": (5, 4)}, "before it begins"),
    ],
)
def test_an_impossible_eater_is_refused_in_words(wrong, says):
    with pytest.raises(ValueError, match=says):
        forecast([GOOD._replace(**wrong)])


def test_refusals_in_a_row_lower_the_chance_of_acceptance():
    assert acceptance(0, 0) == 0.9
    assert acceptance(90, 100) == 0.9
    assert [acceptance(90, 100, n) for n in (1, 4, 20)] == [0.8, 0.65, 0.3]
    for wrong in ((2, 1), (-1, 1), (0, 0, -1)):
        with pytest.raises(ValueError, match="negative"):
            acceptance(*wrong)
