"""Readings weighed by time: hours outside a band, day and night apart, gaps left as gaps."""

from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from husbandry import climate
from husbandry.bands import OPEN, Band
from husbandry.calibration import one_point
from husbandry.climate import Light, calendar_edges, corrected, deficits, edges, nights, track
from husbandry.humidity import vapour_pressure_deficit

BERLIN = ZoneInfo("Europe/Berlin")
BEGINS = int(datetime(2026, 11, 2, tzinfo=BERLIN).timestamp())
DAY, HOUR = 86_400, 3_600
LONGEST = 1_800


def weigh(at, values, band=OPEN, step=HOUR, ends=BEGINS + DAY, night_band=None):
    dark = nights(BEGINS, ends, Light(), BERLIN)
    return track(at, values, edges(BEGINS, ends, step), dark, LONGEST, band, night_band)


def every(minutes, value, begins=BEGINS, ends=BEGINS + DAY):
    at = list(range(begins, ends + 1, minutes * 60))
    return at, [value(second - BEGINS) if callable(value) else value for second in at]


def test_a_hundred_readings_in_an_hour_weigh_as_much_as_two():
    sparse = every(30, lambda s: 20 if s < 12 * HOUR else 30)
    burst = sorted({*sparse[0], *range(BEGINS, BEGINS + HOUR, 36)})
    values = [20 if second - BEGINS < 12 * HOUR else 30 for second in burst]
    assert weigh(burst, values).whole.mean == pytest.approx(weigh(*sparse).whole.mean)


def test_hours_outside_are_counted_to_the_crossing():
    """Straight from 20 to 30 °C in a day: a fifth of it lies above 28, a fifth below 22."""
    found = weigh(*every(10, lambda s: 20 + 10 * s / DAY), band=Band(22, 28))
    assert found.whole.above == pytest.approx(DAY / 5)
    assert found.whole.below == pytest.approx(DAY / 5)
    assert found.whole.mean == pytest.approx(25)


def test_the_end_of_a_band_belongs_to_it():
    assert weigh(*every(10, 28.0), band=Band(22, 28)).whole.outside == 0
    assert weigh(*every(10, 22.0), band=Band(22, 28)).whole.outside == 0


def test_a_gap_stays_a_gap():
    at, values = every(10, 25.0)
    kept = [(a, v) for a, v in zip(at, values, strict=True) if not 3 * HOUR < a - BEGINS < 9 * HOUR]
    found = weigh(*zip(*kept, strict=True), band=Band(30, 40))
    assert found.whole.covered == pytest.approx(18 * HOUR)
    assert found.uncovered == pytest.approx(6 * HOUR)
    assert found.whole.below == pytest.approx(18 * HOUR)
    assert [part.whole.mean for part in found.parts[4:8]] == [None] * 4


def test_day_and_night_stand_apart():
    found = weigh(*every(10, lambda s: 26 if 8 <= s / HOUR < 20 else 20), band=Band(22, 28), night_band=Band(19, 28))
    assert found.day.highest == 26
    assert found.night.lowest == 20
    assert found.day.covered == pytest.approx(12 * HOUR)
    assert found.night.below == 0
    assert found.day.mean > found.night.mean


def test_the_night_that_skips_an_hour_is_an_hour_shorter():
    begins = int(datetime(2026, 3, 28, 12, tzinfo=BERLIN).timestamp())
    ends = int(datetime(2026, 3, 29, 12, tzinfo=BERLIN).timestamp())
    at = list(range(begins, ends + 1, 600))
    found = track(at, [25.0] * len(at), [begins, ends], nights(begins, ends, Light(), BERLIN), LONGEST, OPEN)
    assert (found.day.covered, found.night.covered) == (12 * HOUR, 11 * HOUR)


def test_a_reading_far_from_any_other_is_a_point_and_weighs_nothing():
    found = weigh([BEGINS + HOUR], [31.0], band=Band(22, 28))
    assert found.lone == ((BEGINS + HOUR, 31.0),)
    assert found.whole.covered == 0
    assert found.uncovered == DAY
    assert weigh([], []).lone == ()


def test_unknown_values_are_passed_over():
    at, values = every(10, 25.0)
    values[3] = float("nan")
    assert weigh(at, values).whole.covered == pytest.approx(DAY)


@given(
    st.lists(st.tuples(st.integers(-7200, DAY + 7200), st.floats(-40, 85)), max_size=60, unique_by=lambda row: row[0]),
    st.floats(0, 20),
    st.floats(21, 40),
)
def test_covered_time_and_gaps_make_up_the_whole(rows, low, high):
    rows = sorted(rows)
    found = weigh([BEGINS + at for at, _ in rows], [value for _, value in rows], band=Band(low, high))
    whole = found.whole
    assert 0 <= whole.covered <= DAY + 1e-6
    assert whole.above + whole.below <= whole.covered + 1e-6
    assert found.day.covered + found.night.covered == pytest.approx(whole.covered)
    assert sum(part.whole.covered for part in found.parts) == pytest.approx(whole.covered)
    if whole.mean is not None:
        assert whole.lowest <= whole.mean <= whole.highest


@given(st.lists(st.floats(0, 50), min_size=2, max_size=40), st.floats(1, 49))
def test_what_is_above_in_one_is_below_in_its_mirror(values, limit):
    at = [BEGINS + 600 * n for n in range(len(values))]
    above = weigh(at, values, band=Band(None, limit)).whole.above
    below = weigh(at, [-value for value in values], band=Band(-limit, None)).whole.below
    assert above == pytest.approx(below, abs=1e-6)


@given(st.floats(-10, 50), st.floats(0, 100), st.floats(0, 10))
def test_the_deficit_lies_within_its_spread(celsius, share, about):
    deficit, low, high = (one[0] for one in deficits(np.array([celsius]), np.array([share]), np.array([about])))
    assert low <= deficit <= high
    assert deficit == pytest.approx(vapour_pressure_deficit(celsius, share) / 1000, abs=1e-9)


def test_near_saturation_the_sensor_dominates_the_deficit():
    """Three per cent at 90 % is three tenths of the deficit."""
    deficit, low, high = (one[0] for one in deficits(np.array([25.0]), np.array([90.0]), np.array([3.0])))
    assert (high - deficit) / deficit == pytest.approx(0.3)
    assert (deficit - low) / deficit == pytest.approx(0.3)


def test_each_reading_is_corrected_by_the_test_that_held_then():
    first, second = one_point(70, "NaCl", 20), one_point(80, "NaCl", 20)
    true, about = corrected([5, 10, 15, 20, 25], [60, 60, 60, 60, None], [10, 20], [first, second])
    assert true[:4] == pytest.approx([60, 60 + first.offset, 60 + first.offset, 60 + second.offset])
    assert np.isnan(true[4])
    assert about[0] > about[1]


def test_a_day_is_a_bucket_whatever_its_length():
    begins, ends = datetime(2026, 3, 28, tzinfo=BERLIN), datetime(2026, 3, 31, tzinfo=BERLIN)
    assert [(b - a) // HOUR for a, b in pairwise(calendar_edges(begins, ends))] == [24, 23, 24]
    months = calendar_edges(datetime(2026, 1, 15, tzinfo=BERLIN), datetime(2026, 4, 2, tzinfo=BERLIN), months=True)
    assert [datetime.fromtimestamp(edge, BERLIN).day for edge in months] == [15, 1, 1, 1, 2]


@given(st.integers(0, 23), st.integers(1, 24))
def test_lights_that_go_off_before_they_go_on_are_refused(on, off):
    assume(on >= off)
    with pytest.raises(ValueError, match="before they go off"):
        Light(on, off)


def test_time_runs_forward():
    with pytest.raises(ValueError, match="must end after"):
        edges(BEGINS, BEGINS, HOUR)
    with pytest.raises(ValueError, match="instant from which"):
        climate.corrected([1], [50], [1], [])
