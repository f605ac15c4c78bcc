"""Degree-days, a line through rates, and the stages of a clutch; held against printed tables."""

import csv
import math
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from breeding.development import (
    MIDDLE,
    Development,
    NoForecast,
    degree_days,
    fit_development,
    pace_at,
    pace_of,
    pace_of_day,
    spread_of_stages,
    stage_windows,
)

TABLE = Path(__file__).parents[1] / "reference/degree_days.csv"
ROWS = list(csv.DictReader(TABLE.read_text().splitlines()))
LAID = date(2026, 5, 1)
T = st.floats(-20, 50)


def number(text: str) -> float | None:
    return float(text) if text else None


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['id']}-{row['method']}-{row['maximum']}" for row in ROWS])
def test_a_day_has_the_printed_degree_days(row):
    found = degree_days(
        float(row["minimum"]), float(row["maximum"]), float(row["lower"]), number(row["upper"]), row["method"],
        number(row["next_minimum"]),
    )  # fmt: skip
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@given(T, st.floats(0, 30), T, st.floats(1, 20))
def test_a_sine_day_is_the_integral_of_its_sine(low, span, lower, gap):
    def warmth(x):
        t = low + span / 2 + span / 2 * math.sin(x)
        return min(max(t - lower, 0.0), gap)

    corners = (
        [math.asin(max(-1, min(1, (edge - low - span / 2) / (span / 2)))) for edge in (lower, lower + gap)]
        if span
        else []
    )
    area, _ = integrate.quad(warmth, -math.pi / 2, math.pi / 2, points=sorted(corners) or None, limit=200)
    assert degree_days(low, low + span, lower, lower + gap) == pytest.approx(area / math.pi, abs=1e-6)


@given(T, st.floats(0, 30), T, st.sampled_from(["single-sine", "triangle"]))
def test_warmer_days_and_no_cut_off_never_count_less(low, span, lower, method):
    plain = degree_days(low, low + span, lower, method=method)
    assert plain >= 0
    assert degree_days(low + 1, low + span + 1, lower, method=method) >= plain - 1e-9
    assert degree_days(low, low + span, lower, lower + 5, method) <= min(plain, 5) + 1e-9


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((20, 10, 5), "below its minimum"),
        ((10, 20, 15, 15), "above the lower"),
        ((math.nan, 20, 5), "not a number"),
        ((10, 20, 5, None, "average"), "no method"),
        ((10, 20, 5, None, "double-sine"), "next night"),
        ((10, 20, 5, None, "double-sine", 25), "below its minimum"),
    ],
)
def test_impossible_days_are_refused_in_words(values, words):
    with pytest.raises(ValueError, match=words):
        degree_days(*values)


def test_a_line_through_rates_has_the_worked_threshold_constant_and_errors():
    # T 18–30 °C, days 74–28: recomputed with scipy.stats.linregress; errors after Campbell et al. 1974
    found = fit_development([18, 21, 24, 27, 30], [74, 52, 40, 33, 28])
    assert found.threshold == pytest.approx(10.614050, abs=1e-5)
    assert found.constant == pytest.approx(540.796, abs=1e-3)
    assert found.se_constant == pytest.approx(5.640, abs=1e-3)
    assert found.se_threshold == pytest.approx(0.146443, abs=1e-5)
    assert found.days_at(25) == pytest.approx(37.592, abs=1e-3)


def test_blatta_oothecae_have_the_worked_line():
    # Le Patourel 1995: 89.25, 60.65, 42.65 days at 20, 24, 28 °C
    found = fit_development([20, 24, 28], [89.25, 60.65, 42.65])
    assert found.threshold == pytest.approx(12.86, abs=0.01)
    assert found.constant == pytest.approx(653.5, abs=0.1)
    assert [found.days_at(t) for t in (20, 24, 28)] == pytest.approx([91.5, 58.7, 43.2], abs=0.1)


def test_days_at_a_known_threshold_and_constant():
    assert Development(9.8, 142, 0, 0).days_at(25) == pytest.approx(9.34, abs=0.005)


@given(
    st.lists(st.tuples(st.floats(15, 32), st.floats(10, 200)), min_size=3, max_size=12, unique_by=lambda p: round(p[0]))
)
def test_the_line_is_the_one_that_a_reference_library_draws(points):
    celsius, days = zip(*points, strict=True)
    line = stats.linregress(celsius, 1 / np.array(days))
    if line.slope <= 1e-9:
        return
    found = fit_development(celsius, days)
    assert found.threshold == pytest.approx(-line.intercept / line.slope, rel=1e-6, abs=1e-6)
    assert found.se_constant == pytest.approx(line.stderr / line.slope**2, rel=1e-4, abs=1e-6)


def test_a_day_at_one_steady_temperature_and_one_below_the_base():
    for method in ("single-sine", "triangle"):
        assert degree_days(20, 20, 12, method=method) == 8
        assert degree_days(2, 8, 10, method=method) == degree_days(12, 12, 12, 33, method) == 0
    assert degree_days(15 - 1e-15, 15 + 1e-15, 15) == pytest.approx(0, abs=1e-14)


def test_no_temperature_has_no_number_of_days():
    fit = fit_development(np.array([18, 21, 24, 27, 30]), np.array([74, 52, 40, 33, 28]))
    assert type(fit.threshold) is float
    for celsius in (math.nan, math.inf):
        with pytest.raises(ValueError, match="not a number"):
            fit.days_at(celsius)


def test_at_the_threshold_development_stands_still_and_outside_the_data_that_is_known():
    found = fit_development([20, 24, 28], [89, 60, 42])
    assert found.days_at(found.threshold) is None
    assert (found.covers(25), found.covers(30)) == (True, False)


@pytest.mark.parametrize(
    ("celsius", "days", "words"),
    [
        ([20], [50], "two different"),
        ([20, 20], [50, 51], "two different"),
        ([20, 25], [50, 60], "speeds development"),
        ([20, 25], [50, 0], "above 0"),
        ([20, 25], [50], "its number of days"),
    ],
)
def test_a_line_that_cannot_be_drawn_is_refused_in_words(celsius, days, words):
    with pytest.raises(ValueError, match=words):
        fit_development(celsius, days)


def test_two_temperatures_leave_no_error_to_estimate():
    assert math.isnan(fit_development([20, 25], [60, 40]).se_constant)


# ------------------------------------------------------------ stages


def days_after(when: date) -> int:
    return (when - LAID).days


def test_the_table_at_its_own_temperature_is_the_tables_range_a_fifth_wider():
    # common practice for Brachypelma and Lasiodora at 25–27 °C: 25–40, 18–30 and 25–45 days, one after the other
    windows = stage_windows((LAID, LAID), MIDDLE, 26)
    found = [(w.stage, days_after(w.opens), days_after(w.closes)) for w in windows]
    assert found == [("ewl", 20, 48), ("larva", 35, 84), ("spiderling", 55, 138)]
    assert days_after(windows[0].likely) == 33


def test_colder_is_slower_by_the_reference_rule():
    # (26 − 12)/(T − 12): at 19 °C everything takes twice as long
    warm, cold = stage_windows((LAID, LAID), MIDDLE, 26), stage_windows((LAID, LAID), MIDDLE, 19)
    assert [days_after(w.closes) for w in cold] == [2 * days_after(w.closes) for w in warm]
    assert "doubtful" in cold[0].reason


@pytest.mark.parametrize("celsius", [17.9, 31.1])
def test_outside_the_tables_temperatures_nothing_is_forecast(celsius):
    found = stage_windows((LAID, LAID), MIDDLE, celsius)
    assert isinstance(found, NoForecast)
    assert "between 18 and 31" in found.reason


def test_a_taxon_without_a_table_says_what_is_missing_and_weeks_to_emergence_make_one():
    assert "weeks to emergence" in stage_windows((LAID, LAID), pace_of("Fictor"), 26).reason
    [window] = stage_windows((LAID, LAID), pace_of("Mantis", (4, 6)), 26)
    assert (window.stage, days_after(window.likely)) == ("young", 35)


def test_measured_days_count_as_they_were():
    cold = {LAID + timedelta(days=n): pace_of_day([19.0] * 24) for n in range(14)}
    usual, measured = (stage_windows((LAID, LAID), MIDDLE, 26, days)[0] for days in (None, cold))
    assert days_after(measured.likely) == days_after(usual.likely) + 7  # 14 days at half the pace
    assert "14 days as measured" in measured.reason


def test_a_day_is_the_mean_of_its_readings_and_cold_hours_add_nothing():
    assert pace_of_day([26, 26, 12, 5]) == pytest.approx(0.5)
    assert pace_at(40) == pytest.approx(2)
    with pytest.raises(ValueError, match="without a reading"):
        pace_of_day([])
    with pytest.raises(ValueError, match="no temperature"):
        pace_at(math.nan)


def test_from_three_own_sacs_on_the_keepers_own_pace_takes_over():
    two = stage_windows((LAID, LAID), MIDDLE, 26, own={"ewl": [27, 28]})[0]
    three = stage_windows((LAID, LAID), MIDDLE, 26, own={"ewl": [27, 28, 27.5]})[0]
    assert (two.own, three.own) == (False, True)
    assert days_after(three.likely) in (29, 30)
    assert days_after(three.closes) - days_after(three.opens) < days_after(two.closes) - days_after(two.opens)
    assert three.reason.startswith("From 3 sacs of your own")


def test_what_was_seen_goes_before_the_day_of_laying():
    # from larvae on day 40 the table's last interval, 25 to 45 days, a fifth wider
    [last] = stage_windows((LAID, LAID), MIDDLE, 26, seen=("larva", LAID + timedelta(days=40)))
    assert (last.stage, days_after(last.opens), days_after(last.closes)) == ("spiderling", 60, 94)
    assert last.reason.startswith("Counted from what was seen")
    assert stage_windows((LAID, LAID), MIDDLE, 26, seen=("spiderling", LAID)) == []
    assert len(stage_windows((LAID, LAID), MIDDLE, 26, seen=("egg", LAID))) == 3


def test_a_vague_day_of_laying_widens_the_window():
    vague = stage_windows((LAID, LAID + timedelta(days=9)), MIDDLE, 26)[0]
    assert (days_after(vague.opens), days_after(vague.closes)) == (20, 57)
    with pytest.raises(ValueError, match="before the first"):
        stage_windows((LAID, LAID - timedelta(days=1)), MIDDLE, 26)


@given(st.floats(18, 31), st.integers(0, 400))
def test_stages_follow_each_other_and_a_clutch_is_always_whole(celsius, day):
    windows = stage_windows((LAID, LAID), MIDDLE, celsius)
    assert all(w.opens <= w.likely <= w.closes for w in windows)
    assert all(a.likely < b.likely for a, b in pairwise(windows))
    shares = spread_of_stages(windows, LAID + timedelta(days=day))
    assert sum(shares.values()) == pytest.approx(1)
    assert min(shares.values()) >= -1e-12


def test_a_clutch_holds_several_stages_at_once():
    windows = stage_windows((LAID, LAID), MIDDLE, 26)
    shares = spread_of_stages(windows, windows[0].likely)
    assert shares["egg"] == pytest.approx(0.5, abs=0.05)
    assert shares["ewl"] > 0.3
