"""Scores of forecasts against closed forms, quadrature and scipy; tests/reference/SOURCES.md."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from collection import scoring
from collection.scoring import coverage, crps_lognormal, crps_normal, pinball
from tests.reference import numbers, rows

LEVELS = [0.01, 0.025, *(n / 20 for n in range(1, 20)), 0.975, 0.99]
SCORES = {"pinball": pinball, "normal": crps_normal, "lognormal": crps_lognormal}
some = st.floats(-50, 50, allow_nan=False)
spreads = st.floats(0.05, 5)


def arguments(row):
    given_ = [numbers(row[name]) for name in ("observed", "first", "second")]
    return [column if len(column) > 1 else column[0] for column in given_]


@pytest.mark.parametrize("row", rows("scores"), ids=lambda row: f"{row['id']} {row['second']}")
def test_scores_equal_the_reference(row):
    assert SCORES[row["score"]](*arguments(row)) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_41_hits_of_50_are_no_proof_against_90_per_cent():
    """R10.8: fifty forecasts cannot tell 82 % from 90 %."""
    found = coverage(41, 50, 0.9)
    assert found == pytest.approx((0.82, 0.692039, 0.902298, 0.091653), abs=1e-6)


@given(st.integers(1, 400), st.floats(0, 1), st.sampled_from([0.5, 0.8, 0.9, 0.95]))
def test_coverage_is_that_of_scipy(n, share, level):
    hits = round(share * n)
    judge = stats.binomtest(hits, n, level)
    found = coverage(hits, n, level)
    limits = judge.proportion_ci(method="wilson")
    assert found == pytest.approx((hits / n, limits.low, limits.high, judge.pvalue), abs=1e-9)


def by_quadrature(distribution, observed, low, high):
    early = integrate.quad(lambda x: distribution.cdf(x) ** 2, low, observed, limit=400, epsabs=1e-10)[0]
    return early + integrate.quad(lambda x: distribution.sf(x) ** 2, observed, high, limit=400, epsabs=1e-10)[0]


@pytest.mark.parametrize("observed", [-2.0, 0.3, 4.0])
def test_closed_forms_are_those_of_quadrature(observed):
    normal, student = stats.norm(0.5, 1.3), stats.t(4.5, 0.5, 1.3)
    assert crps_normal(observed, 0.5, 1.3) == pytest.approx(by_quadrature(normal, observed, -20, 20), abs=1e-7)
    found = scoring.crps_student(observed, 0.5, 1.3, 4.5)
    assert found == pytest.approx(by_quadrature(student, observed, -3000, 3000), abs=1e-6)


@pytest.mark.parametrize("days", [0.0, 40.0, 150.0, 900.0])
def test_the_lognormal_form_is_that_of_quadrature(days):
    forecast = stats.lognorm(0.4, scale=140)
    assert crps_lognormal(days, math.log(140), 0.4) == pytest.approx(by_quadrature(forecast, days, 0, 9000), rel=1e-6)


def test_a_student_of_many_degrees_is_a_normal():
    assert scoring.crps_student(1.7, 1, 0.5, 1e6) == pytest.approx(crps_normal(1.7, 1, 0.5), abs=1e-6)


def test_in_days_a_horizon_keeps_a_heavy_tail_finite():
    """The log of a Student t has no mean in days: without a horizon the score would be infinite."""

    def forecast(days):
        with np.errstate(divide="ignore"):
            return stats.t(4, math.log(150), 0.3).cdf(np.log(days))

    near, far = (scoring.crps_capped(160, forecast, horizon) for horizon in (600, 1800))
    assert 0 < near < far < 40
    steady = stats.lognorm(0.25, scale=math.exp(5.1)).cdf
    assert scoring.crps_capped(150, steady, 1000) == pytest.approx(11.611706, abs=2e-3)
    assert scoring.crps_capped(5000, steady, 400) == scoring.crps_capped(400, steady, 400)


def test_twenty_three_quantiles_say_nearly_what_the_whole_forecast_does():
    forecast = stats.lognorm(0.25, scale=math.exp(5.1))
    for days in (100.0, 150.0, 260.0):
        found = scoring.crps_quantiles(days, LEVELS, list(forecast.ppf(LEVELS)))
        assert found == pytest.approx(crps_lognormal(days, 5.1, 0.25), rel=0.02)


@given(some, some, spreads, some)
def test_a_score_moves_with_its_forecast_and_is_never_negative(y, mean, sd, shift):
    score = crps_normal(y, mean, sd)
    assert score >= 0
    assert crps_normal(y + shift, mean + shift, sd) == pytest.approx(score, abs=1e-9)
    assert crps_normal(3 * y, 3 * mean, 3 * sd) == pytest.approx(3 * score, abs=1e-9)


@given(some, some, st.floats(0.01, 0.99))
def test_pinball_is_0_for_the_truth_alone_and_fair_on_both_sides(y, q, level):
    assert pinball(y, y, level) == 0
    assert pinball(y, q, level) >= 0
    assert pinball(y, q, level) == pytest.approx(pinball(-y, -q, 1 - level), abs=1e-9)


@given(st.lists(some, max_size=60))
def test_windows_widen_by_1_to_3_and_then_hold_four_in_five(scores):
    factor = scoring.widening(scores)
    assert 1 <= factor <= scoring.WIDEST
    if scores and factor < scoring.WIDEST:
        inside = sum(abs(score) <= factor * stats.norm.ppf(0.9) + 1e-9 for score in scores)
        assert inside >= math.floor(0.8 * (len(scores) - 1)) + 1


@pytest.mark.parametrize("n", [1, 2, 3, 7, 20, 333, 20_000])
@pytest.mark.parametrize("level", [0.01, 0.5, 0.8, 0.95])
def test_coverage_is_scipys_exact_test_with_wilsons_limits(n, level):
    for hits in {0, n // 2, int(n * level), n}:
        judge = stats.binomtest(hits, n, level)
        limits = judge.proportion_ci(0.95, "wilson")
        assert coverage(hits, n, level) == pytest.approx((hits / n, limits.low, limits.high, judge.pvalue), abs=1e-9)


def test_a_thousand_million_forecasts_are_judged_without_being_listed():
    found = coverage(900_020_000, 1_000_000_000, 0.9)
    assert found.p == pytest.approx(2 * stats.norm.sf(20_000 / math.sqrt(0.09e9)), rel=1e-3)


def test_counts_may_be_any_whole_numbers():
    assert coverage(41.0, np.int64(50), 0.9) == coverage(41, 50, 0.9)
    assert type(coverage(np.int64(41), np.int64(50), 0.9).rate) is float


def test_good_windows_stay_and_narrow_ones_widen():
    normal = [float(stats.norm.ppf((n + 0.5) / 200)) for n in range(200)]
    assert scoring.widening(normal) == pytest.approx(1, abs=0.02)
    assert scoring.widening([1.6 * score for score in normal]) == pytest.approx(1.6, abs=0.03)
    assert scoring.widening([]) == 1


REFUSED = [
    (lambda: pinball(1, 2, 1), "between 0 and 1"),
    (lambda: pinball(math.nan, 2, 0.5), "takes numbers, not nan"),
    (lambda: pinball([1, 2], [1, 2, 3], 0.5), "equally many"),
    (lambda: pinball([], [], 0.5), "Without a forecast"),
    (lambda: crps_normal(1, 2, 0), "above zero, not 0"),
    (lambda: crps_lognormal(1, 2, -1), r"above zero, not -1\.0"),
    (lambda: scoring.crps_student(1, 2, 1, 1), "more than one"),
    (lambda: scoring.crps_capped(1, lambda d: d, 0), "above zero"),
    (lambda: scoring.crps_quantiles(1, [0.5], [3]), "two or more"),
    (lambda: coverage(5, 4, 0.9), "5 hits of 4"),
    (lambda: coverage(0, 0, 0.9), "0 hits of 0"),
    (lambda: coverage(1, 2, 90), "between 0 and 1"),
    (lambda: coverage(1, math.inf, 0.9), "1 hits of inf"),
    (lambda: coverage(math.nan, 3, 0.9), "nan hits of 3"),
    (lambda: crps_lognormal(-3, 5.1, 0.25), "Nothing comes after -3 days"),
    (lambda: crps_lognormal(150, 900, 0.25), "no mean in days"),
    (lambda: crps_lognormal(150, 5, 40), "no mean in days"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_what_cannot_be_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
