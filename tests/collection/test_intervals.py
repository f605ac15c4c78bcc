"""Forecasts of one interval, against published formulas and independent programs; tests/reference/SOURCES.md."""

import math

import numpy as np
import pytest
from scipy import stats

from collection.intervals import IntervalForecast, IntervalPrior, StudentForecast, update
from tests.reference import numbers, rows

R5 = IntervalPrior(150, 2, 0.25, 3)
OWN = (142, 171, 160, 188)


def forecast_of(row: dict[str, str]) -> IntervalForecast:
    prior = IntervalPrior(*(float(row[name]) for name in ("median_days", "records", "spread", "shape")))
    return update(prior, numbers(row["observed"]), numbers(row["censored"]))


def value_of(row: dict[str, str]) -> float:
    forecast = forecast_of(row)
    if row["quantity"] == "median":
        return forecast.median
    if row["quantity"] == "chance":
        return forecast.chance_within(float(row["days"]), float(row["elapsed"]))
    return forecast.window(float(row["days"]))[row["quantity"] == "high"]


@pytest.mark.parametrize("row", rows("intervals"), ids=lambda row: f"{row['id']} {row['quantity']} {row['days']}")
def test_forecasts_equal_the_reference(row):
    assert value_of(row) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_posterior_of_the_reference_case_is_the_printed_student_t():
    """R5.1: m 5.071729, records 6, shape 5, b 0.213966; scale √(b(k + 1)/(a k))."""
    forecast = update(R5, OWN)
    assert isinstance(forecast, StudentForecast)
    assert forecast.degrees == 10
    assert forecast.location == pytest.approx(5.071729, abs=1e-6)
    assert forecast.scale == pytest.approx(math.sqrt(0.213966 * 7 / (5 * 6)), abs=1e-6)


@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.99])
def test_window_and_survival_agree_with_scipy_stats(level):
    forecast = update(IntervalPrior(60, 3, 0.4, 2.5), [55, 71, 48])
    student = stats.t(forecast.degrees, forecast.location, forecast.scale)
    assert forecast.window(level) == pytest.approx(tuple(np.exp(student.interval(level))), rel=1e-9)
    days = np.array([1.0, 30.0, 60.0, 200.0])
    assert forecast.survival(days) == pytest.approx(student.sf(np.log(days)), rel=1e-9)


def brute_force(prior, exact, ranges, days):
    """Posterior mean survival on a plain grid of mean and log spread, with scipy.stats alone."""
    spread = np.exp(np.linspace(math.log(prior.spread) - 2.5, math.log(prior.spread) + 2.5, 241))[None, :]
    mean = math.log(prior.median_days) + np.linspace(-8, 8, 241)[:, None] * prior.spread
    weight = stats.invgamma.logpdf(spread**2, prior.shape, scale=prior.shape * prior.spread**2) + 2 * np.log(spread)
    weight = weight + stats.norm.logpdf(mean, math.log(prior.median_days), spread / math.sqrt(prior.records))
    for value in exact:
        weight = weight + stats.norm.logpdf(math.log(value), mean, spread)
    weight = np.exp(weight - weight.max())
    for low, high in ranges:
        weight = weight * (stats.norm.sf(np.log(low), mean, spread) - stats.norm.sf(np.log(high), mean, spread))
    return [(weight * stats.norm.sf(math.log(day), mean, spread)).sum() / weight.sum() for day in days]


@pytest.mark.parametrize(
    ("prior", "days"),
    [
        (IntervalPrior(400, 0.3, 0.1, 1), (200, 400, 520, 800)),
        (IntervalPrior(150, 0.5, 0.25, 0.5), (75, 150, 300, 600)),
        (IntervalPrior(150, 1, 0.25, 1), (75, 150, 300, 600)),
    ],
)
def test_a_weak_prior_is_weighed_as_finely_as_a_firm_one(prior, days):
    """Beside the same integrand on a grid of 401 × 801, which no zoom chose."""
    ranges = [(prior.median_days * low, prior.median_days * high) for low, high in ((1.1, 1.6), (0.8, 1.5))]
    waits = [prior.median_days * share for share in (1.7, 1.3, 1.0)]
    start, end = 0.5 * math.log(prior.shape * prior.spread**2) - 5, 0.5 * math.log(prior.shape * prior.spread**2) + 14
    z, s = np.linspace(-14, 14, 401)[:, None], np.linspace(start, end, 801)
    spread, middle = np.exp(s) + 0 * z, math.log(prior.median_days)
    mean = middle + z * spread / math.sqrt(prior.records)
    weight = stats.invgamma.pdf(spread**2, prior.shape, scale=prior.shape * prior.spread**2) * spread**2
    weight *= stats.norm.pdf(z)
    for low, high in [*ranges, *((wait, math.inf) for wait in waits)]:
        weight *= stats.norm.cdf((np.log(high) - mean) / spread) - stats.norm.cdf((math.log(low) - mean) / spread)
    judge = [(weight * stats.norm.sf((math.log(day) - mean) / spread)).sum() / weight.sum() for day in days]
    assert update(prior, ranges, waits).survival(np.array(days)) == pytest.approx(judge, abs=1e-5)


@pytest.mark.parametrize(
    ("exact", "ranges"),
    [((), [(100.0, 180.0)]), (OWN, [(120.0, 200.0), (90.0, 140.0)]), ((150,), [(60.0, 75.0), (200.0, 260.0)])],
)
def test_dates_known_to_a_range_agree_with_a_plain_grid(exact, ranges):
    forecast = update(R5, [*exact, *ranges])
    days = (100.0, 150.0, 200.0, 300.0)
    assert forecast.survival(np.array(days)) == pytest.approx(brute_force(R5, exact, ranges, days), abs=2e-6)


def test_running_intervals_agree_with_a_plain_grid():
    days = (150.0, 200.0, 300.0)
    expected = brute_force(R5, OWN, [(210.0, 1e12), (240.0, 1e12)], days)
    assert update(R5, OWN, [210, 240]).survival(np.array(days)) == pytest.approx(expected, abs=2e-6)


def test_tables_of_numpy_are_taken_as_lists_are():
    ranges, waits = np.array([[120.0, 200.0], [90.0, 140.0]]), np.array([210, 240])
    assert update(R5, ranges, waits).median == update(R5, [(120, 200), (90, 140)], [210, 240]).median
    assert update(R5, np.array(OWN)) == update(R5, list(OWN)) == update(R5, iter(OWN))


def test_a_narrow_range_counts_as_its_geometric_middle():
    assert update(R5, [(150, 154)]) == update(R5, [math.sqrt(150 * 154)])


def test_the_grid_agrees_with_the_closed_form_when_its_records_say_nothing():
    """An interval censored on its first second carries no information."""
    closed, grid = update(R5, OWN), update(R5, OWN, [1e-6])
    assert grid.median == pytest.approx(closed.median, abs=1e-4)
    assert grid.window(0.9) == pytest.approx(closed.window(0.9), rel=1e-6)
    assert grid.chance_within(30, 150) == pytest.approx(closed.chance_within(30, 150), abs=1e-6)


def test_windows_hold_what_they_promise():
    """R5.10: a 90 % window over cases drawn from the prior itself covers 90 %; four standard errors allowed."""
    rng = np.random.default_rng(20250101)
    cases, hits = 4000, 0
    for _ in range(cases):
        spread = math.sqrt(3 * 0.25**2 / rng.gamma(3))
        mean = rng.normal(math.log(150), spread / math.sqrt(2))
        *own, future = np.exp(rng.normal(mean, spread, 4))
        low, high = update(R5, own).window(0.9)
        hits += low <= future <= high
    assert hits / cases == pytest.approx(0.9, abs=4 * math.sqrt(0.9 * 0.1 / cases))


def test_a_wait_far_beyond_all_records_still_gives_a_chance():
    for forecast in (update(IntervalPrior(20, 50, 0.02, 200), [20] * 40), update(R5, OWN, [300])):
        assert 0 < forecast.chance_within(30, 1e5) < 1


def test_nothing_has_come_at_the_start():
    for forecast in (update(R5), update(R5, (), [200])):
        assert forecast.survival(0) == pytest.approx(1, abs=1e-12)
        assert forecast.chance_within(0, 0) == 0


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_a_prior_that_is_not_positive_is_refused(bad):
    with pytest.raises(ValueError, match="above zero"):
        IntervalPrior(150, bad, 0.25, 3)


@pytest.mark.parametrize("bad", [0, -5, math.nan, (200, 100), (-1, 50), (10, math.inf)])
def test_records_that_are_no_intervals_are_refused(bad):
    with pytest.raises(ValueError, match=r"interval|backwards"):
        update(R5, [bad])


@pytest.mark.parametrize("bad", [0, -5, math.nan])
def test_a_running_interval_that_never_ran_is_refused(bad):
    with pytest.raises(ValueError, match="without its event"):
        update(R5, OWN, [bad])


def test_questions_outside_their_limits_are_refused():
    forecast = update(R5)
    with pytest.raises(ValueError, match="between 0 and 1"):
        forecast.window(1)
    with pytest.raises(ValueError, match="elapsed"):
        forecast.chance_within(30, -1)
    with pytest.raises(ValueError, match="ahead"):
        forecast.chance_within(math.nan, 10)
    with pytest.raises(ValueError, match="from zero up"):
        forecast.survival([-1.0, 5.0])
