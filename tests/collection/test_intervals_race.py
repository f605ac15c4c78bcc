"""Sac or molt first: two times racing, against closed forms and quadrature."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from collection.intervals import IntervalPrior, Race, race, update, with_chance
from collection.survival import kaplan_meier, share_at
from tests.reference import rows


def survival_of(text):
    kind, *parameters = text.split()
    if kind == "exponential":
        return stats.expon(scale=1 / float(parameters[0])).sf
    median, spread = map(float, parameters)
    return stats.lognorm(spread, scale=median).sf


@pytest.mark.parametrize("row", rows("races"), ids=lambda row: f"{row['id']} {row['horizon']}")
def test_races_equal_the_reference(row):
    found = race(survival_of(row["a"]), survival_of(row["b"]), float(row["elapsed"]), float(row["horizon"]))
    expected = [float(row[name]) for name in ("first_a", "first_b", "neither")]
    assert found == pytest.approx(expected, abs=float(row["tolerance"]))


SHARP, SHARP_LATER = stats.lognorm(0.02, scale=100), stats.lognorm(0.02, scale=102)
MOLT, SAC = stats.lognorm(0.25, scale=160), stats.lognorm(0.35, scale=90)


@pytest.mark.parametrize(
    ("a", "b", "elapsed", "horizon"),
    [
        (SAC, MOLT, 0, 400),
        (SAC, MOLT, 119.5, 14),
        (SHARP, SHARP_LATER, 0, 300),
        (SHARP, SHARP_LATER, 95, 20_000),
        (stats.weibull_min(2, scale=300), stats.expon(scale=1e4), 40, 400),
    ],
)
def test_races_agree_with_quadrature(a, b, elapsed, horizon):
    end = min(elapsed + horizon, 2000)
    inner = [day for day in (95, 100, 105, 110, 200) if elapsed < day < end]
    area = integrate.quad(lambda t: a.pdf(t) * b.sf(t), elapsed, end, points=inner, limit=2000, epsabs=1e-12)[0]
    expected = area / (a.sf(elapsed) * b.sf(elapsed))
    assert race(a.sf, b.sf, elapsed, horizon).first_a == pytest.approx(expected, abs=2e-6)


def test_an_event_on_a_set_day_races_a_steady_one():
    """By hand: it is first if the other has not come in 100 days; on the last day of the horizon it still counts."""
    for horizon in (100, 200, math.inf):
        found = race(lambda t: 1.0 if t < 100 else 0.0, lambda t: math.exp(-0.01 * t), 0, horizon)
        assert found == pytest.approx((math.exp(-1), 1 - math.exp(-1), 0), abs=1e-7)


def test_a_curve_in_steps_races_a_steady_one():
    """By hand: .4, .3 and .3 of it fall at 30, 60 and 90 days, where exp(−t/100) of the other is left."""
    steps = kaplan_meier([30] * 4 + [60] * 3 + [90] * 3, [1] * 10)
    found = race(lambda t: share_at(steps, t), lambda t: math.exp(-0.01 * t), 0, 200)
    assert found.first_a == pytest.approx(0.4 * math.exp(-0.3) + 0.3 * math.exp(-0.6) + 0.3 * math.exp(-0.9), abs=1e-7)


def test_two_that_come_on_the_same_set_day_are_each_first_half_the_time():
    set_day = np.vectorize(lambda t: float(t < 100))
    assert race(set_day, set_day, 0, 200) == pytest.approx((0.5, 0.5, 0), abs=1e-9)


@pytest.mark.parametrize(
    ("a", "b", "first_a"),
    [(stats.uniform(0, 100), stats.uniform(0, 200), 0.75), (stats.uniform(50, 100), stats.uniform(20, 180), 5 / 9)],
)
def test_times_with_a_first_and_a_last_day(a, b, first_a):
    """By hand: the mean of the other's survival over the days of a."""
    assert race(a.sf, b.sf, 0, 250) == pytest.approx((first_a, 1 - first_a, 0), abs=1e-7)


def test_two_forecasts_race_as_on_a_fine_ruler():
    """Trapezoids over 200,000 steps of log days, which share no code with it."""
    sac = update(IntervalPrior(90, 2, 0.35, 3), [80, 95], [120]).survival
    molt = update(IntervalPrior(160, 2, 0.25, 3), [150, 171]).survival
    days = np.geomspace(60, 1e9, 200_001)
    a, b = sac(days), molt(days)
    expected = float((a[:-1] - a[1:]) @ (b[:-1] + b[1:])) / 2 / (a[0] * b[0])
    assert race(sac, molt, 60, math.inf).first_a == pytest.approx(expected, abs=1e-7)


def test_functions_that_take_one_number_only_give_the_same():
    one_by_one = race(lambda t: math.exp(-0.01 * t), lambda t: 1.0 if t < 80 else math.exp(-0.004 * (t - 80)), 60, 30)
    arrays = race(lambda t: np.exp(-0.01 * t), lambda t: np.exp(-0.004 * np.maximum(t - 80, 0)), 60, 30)
    assert one_by_one == pytest.approx(arrays, abs=1e-12)


def test_an_event_that_never_comes_loses_against_one_that_does():
    assert race(lambda t: 1.0, SAC.sf, 10, math.inf) == pytest.approx((0, 1, 0), abs=1e-9)


def test_a_doubtful_sac_leaves_the_rest_to_the_molt():
    """Independent times: the sac comes first with its chance times the race it would have won from the start."""
    certain = race(SAC.sf, MOLT.sf, 0, math.inf)
    doubtful = race(with_chance(SAC.sf, 0.6), MOLT.sf, 0, math.inf)
    assert doubtful.first_a == pytest.approx(0.6 * certain.first_a, abs=1e-6)
    assert doubtful.neither == pytest.approx(0, abs=1e-9)


def test_waiting_without_a_sac_makes_one_less_likely():
    """By hand: after 120 days the chance of 0.6 has become .6·S/(1 − .6 + .6·S)."""
    left = 0.6 * SAC.sf(120)
    ever = race(with_chance(SAC.sf, 0.6), lambda t: 1.0, 120, math.inf).first_a
    assert ever == pytest.approx(left / (0.4 + left), abs=1e-6)


def test_forecasts_race_each_other():
    sac = update(IntervalPrior(90, 2, 0.35, 3), [80, 95], [120])
    molt = update(IntervalPrior(160, 2, 0.25, 3), [150, 171])
    found = race(sac.survival, molt.survival, 60, 30)
    swapped = race(molt.survival, sac.survival, 60, 30)
    assert isinstance(found, Race)
    assert found.first_a > found.first_b
    assert swapped == pytest.approx((found.first_b, found.first_a, found.neither), abs=1e-9)


def test_no_horizon_no_winner():
    assert race(SAC.sf, MOLT.sf, 60, 0) == (0, 0, 1)


def test_an_event_that_must_have_come_is_refused():
    with pytest.raises(ValueError, match="nothing left to race"):
        race(lambda t: max(0.0, 1 - t / 100), MOLT.sf, 150, 30)


@pytest.mark.parametrize(("elapsed", "horizon"), [(-1, 30), (math.nan, 30), (60, -1), (60, math.nan)])
def test_times_below_zero_are_refused(elapsed, horizon):
    with pytest.raises(ValueError, match="from zero up"):
        race(SAC.sf, MOLT.sf, elapsed, horizon)


@pytest.mark.parametrize("chance", [-0.1, 1.1, math.nan])
def test_a_chance_outside_0_to_1_is_refused(chance):
    with pytest.raises(ValueError, match="between 0 and 1"):
        with_chance(SAC.sf, chance)
