"""What must hold for any prior, any records and any race."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intervals import IntervalForecast, IntervalPrior, race, update, with_chance

days = st.floats(1, 2000)
ranges = st.tuples(days, days).map(lambda pair: (min(pair), max(pair)))
priors = st.builds(IntervalPrior, st.floats(5, 1000), st.floats(0.5, 20), st.floats(0.02, 1), st.floats(1, 30))
records = st.lists(days | ranges, max_size=4)
forecasts = st.builds(update, priors, records, st.lists(days, max_size=3))
AXIS = np.concatenate([[0.0], np.geomspace(0.1, 1e5, 60)])


@settings(max_examples=60, deadline=None)
@given(forecasts)
def test_survival_starts_at_one_and_never_rises(forecast: IntervalForecast):
    values = forecast.survival(AXIS)
    assert values[0] == pytest.approx(1)
    assert (np.diff(values) <= 1e-12).all()
    assert ((values >= 0) & (values <= 1 + 1e-12)).all()


@settings(max_examples=40, deadline=None)
@given(forecasts, st.floats(0.05, 0.98))
def test_a_window_holds_its_share_and_its_median(forecast: IntervalForecast, level: float):
    low, high = forecast.window(level)
    assert low < forecast.median < high
    assert forecast.survival(low) - forecast.survival(min(high, 1e300)) == pytest.approx(level, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(forecasts, st.floats(0, 3000), st.floats(0, 500), st.floats(0, 500))
def test_more_time_ahead_never_lowers_the_chance(forecast, elapsed, ahead, more):
    shorter, longer = forecast.chance_within(ahead, elapsed), forecast.chance_within(ahead + more, elapsed)
    assert 0 <= shorter <= longer + 1e-12 <= 1 + 2e-12


@settings(max_examples=60, deadline=None)
@given(priors, st.lists(days, min_size=1, max_size=5), st.randoms(use_true_random=False))
def test_the_order_of_records_does_not_matter(prior, own, rng):
    mixed = own.copy()
    rng.shuffle(mixed)
    assert update(prior, mixed).median == pytest.approx(update(prior, own).median, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(priors, st.lists(days, max_size=3), st.floats(2, 1500))
def test_a_wait_that_ended_without_the_event_moves_the_forecast_later(prior, own, wait):
    assert update(prior, own, [wait]).median >= update(prior, own).median * (1 - 1e-6)


@settings(max_examples=40, deadline=None)
@given(forecasts, forecasts, st.floats(0, 400), st.floats(0.5, 800) | st.just(math.inf), st.floats(0, 1))
def test_the_chances_of_a_race_sum_to_one(a, b, elapsed, horizon, chance):
    found = race(with_chance(a.survival, chance), b.survival, elapsed, horizon)
    assert sum(found) == pytest.approx(1, abs=1e-9)
    assert all(0 <= part <= 1 + 1e-9 for part in found)


@settings(max_examples=40, deadline=None)
@given(forecasts, forecasts, st.floats(0, 400), st.floats(1, 400))
def test_neither_is_the_chance_that_both_are_still_to_come(a, b, elapsed, horizon):
    expected = (1 - a.chance_within(horizon, elapsed)) * (1 - b.chance_within(horizon, elapsed))
    assert race(a.survival, b.survival, elapsed, horizon).neither == pytest.approx(expected, abs=1e-9)
