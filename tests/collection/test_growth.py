"""Growth at molts against published series and recomputed limits; sources in tests/reference/SOURCES.md."""

import math
import time
import warnings
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from collection.growth import (
    GrowthFit,
    Point,
    fit_cohort,
    fit_growth,
    log_ratios,
    missed_molts,
    shrink_ratio,
)
from tests.reference import numbers, rows

SIZES = st.floats(0.05, 300)
SERIES = st.lists(SIZES, min_size=3, max_size=12).map(lambda sizes: list(enumerate(sizes, start=1)))


def series(text: str) -> list[Point]:
    return list(enumerate(numbers(text), start=1))


def quantity(fit: GrowthFit, name: str):
    """A figure of a fit by the name that the reference table gives it."""
    kind, _, level = name.rpartition(" ")
    figures = {"ratio limits": fit.ratio_limits, "next": fit.next_size}
    if kind in figures:
        return list(figures[kind](float(level)))
    return getattr(fit, name.replace(" ", "_"))


@pytest.mark.parametrize("row", rows("growth"), ids=lambda row: f"{row['id']} {row['quantity']}")
def test_a_fit_is_the_published_one(row):
    expected = numbers(row["expected"])
    found = quantity(fit_growth(series(row["values"])), row["quantity"])
    assert found == pytest.approx(expected if len(expected) > 1 else expected[0], abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("head_capsules"), ids=lambda row: row["host"])
def test_every_series_of_spodoptera_is_what_scipy_fits(row):
    """Head capsules of *Spodoptera frugiperda* on four hosts, mm (Indian J. Entomol. 2023)."""
    points = series(row["mm"])
    judge = stats.linregress([i for i, _ in points], np.log([size for _, size in points]))
    fit = fit_growth(points)
    reach = stats.t(4).ppf(0.975) * judge.stderr
    assert fit.slope == pytest.approx(judge.slope, abs=1e-12)
    assert fit.r_squared == pytest.approx(judge.rvalue**2, abs=1e-12)
    assert fit.ratio_limits(0.95) == pytest.approx((math.exp(judge.slope - reach), math.exp(judge.slope + reach)))


def test_prediction_limits_are_those_of_least_squares_by_matrix():
    """x'(X'X)⁻¹x by numpy's inverse, a way that shares no code with the closed form."""
    points = series(rows("head_capsules")[1]["mm"])
    design = np.array([[1.0, i] for i, _ in points])
    logs = np.log([size for _, size in points])
    beta, rest, *_ = np.linalg.lstsq(design, logs, rcond=None)
    new = np.array([1.0, 9.0])
    error = math.sqrt(rest[0] / 4 * (1 + new @ np.linalg.inv(design.T @ design) @ new))
    low, high = np.exp(new @ beta + stats.t(4).ppf([0.1, 0.9]) * error)
    assert fit_growth(points).size_at(9, 0.8) == pytest.approx((float(np.exp(new @ beta)), low, high))


def test_a_real_series_leaves_its_own_limits():
    """R7.2: the fifth instar on maize measured 1.29 mm, outside the 90 % of the four before it."""
    _, low, _ = fit_growth(series(".22 .42 .71 1.13")).next_size(0.9)
    assert low > 1.29


def test_all_hosts_in_one_heap_are_what_scipy_fits():
    """Sizes that happen to be equal count as often as they were measured."""
    points = [point for row in rows("head_capsules") for point in series(row["mm"])]
    judge = stats.linregress([i for i, _ in points], np.log([size for _, size in points]))
    fit = fit_growth(np.array(points))
    assert len(set(points)) < len(points) == fit.n
    assert (fit.slope, fit.r_squared) == pytest.approx((judge.slope, judge.rvalue**2), abs=1e-12)


def test_twenty_thousand_sizes_take_no_longer_than_reading_them():
    began = time.process_time()
    assert fit_growth([(i % 12, 1.3 ** (i % 12)) for i in range(20_000)]).ratio == pytest.approx(1.3)
    assert time.process_time() - began < 0.5


def test_successive_ratios_of_maize():
    """R7.3."""
    found = [math.exp(value) for value in log_ratios(series(rows("head_capsules")[0]["mm"]))]
    assert found == pytest.approx([1.909, 1.690, 1.592, 1.142, 2.279], abs=5e-4)


def test_a_gap_of_two_molts_is_two_equal_steps():
    assert log_ratios([(3, 10.0), (5, 10.0 * 1.3**2)]) == pytest.approx([math.log(1.3)] * 2)


def test_two_sizes_of_one_skin_are_one_step_from_their_middle():
    assert log_ratios([(3, 8.0), (3, 12.5), (4, 13.0)]) == pytest.approx([math.log(1.3)])


@pytest.mark.parametrize("row", rows("series_factors"), ids=lambda row: row["id"])
def test_a_constant_ratio_adds_up_as_published(row):
    ratio, molts = float(row["ratio"]), int(row["molts"])
    grown = float(row["start"]) * ratio**molts
    assert grown == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))
    fit = fit_growth([(i, float(row["start"]) * ratio**i) for i in range(max(molts, 2))])
    assert fit.size_at(molts, 0.9)[0] == pytest.approx(grown)


def test_grammostola_vachoni_grows_to_its_eleventh_molt_at_one_ratio():
    """+38 % a molt, males adult most often at molt 11 (Zool. Anz. 293:37–45, 2021)."""
    fit = fit_growth([(molt, 1.5 * 1.38**molt) for molt in range(12)])
    assert (fit.ratio, fit.log_sd) == pytest.approx((1.38, 0), abs=1e-7)
    assert fit.size_at(11, 0.9) == pytest.approx((1.5 * 34.568,) * 3, rel=1e-4)


def test_the_wolf_spider_adds_millimetres_and_so_its_ratio_falls():
    """Check 7, *Alopecosa kochi*: +0.15 mm a stadium up to VI, so five molts add 0.75 mm (1971, 64:757)."""
    widths = [0.6 + 0.15 * stadium for stadium in range(6)]
    ratios = log_ratios(list(enumerate(widths, start=1)))
    assert all(later < earlier for earlier, later in pairwise(ratios))
    assert math.exp(math.fsum(ratios)) == pytest.approx(1.35 / 0.6)


def test_intervals_between_molts_of_a_scorpion():
    """Check 8, *Opisthacanthus madagascariensis*: molts at mean ages 13, 101, 204, 327, 442 days."""
    gaps = [88, 103, 123, 115]
    assert fit_growth(list(enumerate(gaps, start=1))).ratio == pytest.approx(
        math.exp(stats.linregress(range(4), np.log(gaps)).slope)
    )


def test_four_hosts_have_one_ratio():
    """R7.4: random intercept by REML; the balanced closed form is exact."""
    cohort = fit_cohort([series(row["mm"]) for row in rows("head_capsules")])
    assert (cohort.slope, cohort.ratio) == pytest.approx((0.488954, 1.630610), abs=1e-4)
    assert (cohort.between_sd**2, cohort.within_sd**2) == pytest.approx((0.004301, 0.022328), abs=1e-4)


def test_four_hosts_have_the_ratio_that_statsmodels_finds():
    import statsmodels.api as sm

    found = [(host, i, math.log(mm)) for host, row in enumerate(rows("head_capsules")) for i, mm in series(row["mm"])]
    hosts, instars, logs = map(np.array, zip(*found, strict=True))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it calls a small variance a boundary; its answer is exact
        judge = sm.MixedLM(logs, sm.add_constant(instars.astype(float)), groups=hosts).fit(reml=True)
    cohort = fit_cohort([series(row["mm"]) for row in rows("head_capsules")])
    assert cohort.slope == pytest.approx(judge.params[1], abs=1e-6)
    assert cohort.within_sd**2 == pytest.approx(judge.scale, abs=1e-4)
    assert cohort.between_sd**2 == pytest.approx(float(judge.cov_re[0, 0]), abs=1e-4)


@pytest.mark.parametrize("row", rows("shrunk_ratios"), ids=lambda row: row["id"])
def test_a_short_series_is_drawn_to_its_kind(row):
    """R7.5: scatter within .04, between .03, prior ratio 1.38."""
    found = shrink_ratio(numbers(row["log_ratios"]), 0.04, 0.03, 1.38)
    assert found.weight == pytest.approx(float(row["weight"]), abs=1e-6)
    assert found.ratio == pytest.approx(float(row["ratio"]), abs=1e-6)
    assert found.predictive_sd == pytest.approx(float(row["predictive_sd"]), abs=1e-6)


def test_without_a_molt_of_its_own_an_animal_grows_as_its_kind():
    found = shrink_ratio([], 0.04, 0.03, 1.38)
    assert (found.weight, found.ratio, found.predictive_sd) == pytest.approx((0, 1.38, 0.05))


def test_the_next_size_of_a_shrunk_ratio_is_log_normal():
    low, high = stats.lognorm(0.05, scale=13.8).ppf([0.05, 0.95])
    assert shrink_ratio([], 0.04, 0.03, 1.38).next_size(10, 0.9) == pytest.approx((13.8, low, high))


@pytest.mark.parametrize(
    ("before", "after", "ratio", "missed"),
    [
        (10.0, 19.0, 1.38, 1),  # check 3: 1.90 is near 1.38² = 1.904
        (10.0, 13.8, 1.38, 0),
        (10.0, 16.1, 1.38, 0),  # 1.38^1.5 = 1.621
        (10.0, 16.3, 1.38, 1),
        (10.0, 22.3, 1.38, 1),  # 1.38^2.5 = 2.237
        (10.0, 22.5, 1.38, 2),
        (10.0, 10.0 * 1.3**4, 1.3, 3),
        (10.0, 10.0, 1.3, 0),
        (10.0, 4.0, 1.3, 0),  # it shrank: a slip of the ruler, not a molt
    ],
)
def test_a_step_too_large_hides_molts(before, after, ratio, missed):
    assert missed_molts(before, after, ratio) == missed


def test_no_size_gives_no_ratio_and_says_so():
    fit = fit_growth([])
    assert (fit.ratio, fit.next_size(0.9), fit.ratio_limits(0.9)) == (None, None, None)
    assert fit.unknown == "No size: growth takes sizes after two different molts."
    assert fit_growth([(4, 12.0), (4, 12.1)]).unknown.startswith("Sizes of one instar only")


def test_two_sizes_give_a_ratio_and_no_limits():
    fit = fit_growth([(4, 10.0), (5, 13.0)])
    assert fit.ratio == pytest.approx(1.3)
    assert fit.next_size(0.9) == pytest.approx((16.9, 0, math.inf))
    assert (fit.log_sd, fit.ratio_limits(0.9)) == (None, None)
    assert "nothing of how it scatters" in fit.unknown


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        ([(1, 2.0, "leg span"), (2, 3.0, "carapace length")], "Carapace length and leg span grow by different ratios"),
        ([(1, 2.0), (2, 0.0)], "A size must be a number above zero, not 0.0."),
        ([(1, 2.0), (2, math.nan)], "A size must be a number above zero, not nan."),
        ([(1, 2.0), (2, -3.0)], "A size must be a number above zero"),
        ([(1, 2.0), (2.5, 3.0)], "An instar is a whole number from zero up, not 2.5."),
        ([(-1, 2.0), (2, 3.0)], "An instar is a whole number from zero up, not -1."),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(points, sentence):
    with pytest.raises(ValueError, match=sentence):
        fit_growth(points)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: missed_molts(0, 5, 1.3), "A size must be"),
        (lambda: missed_molts(4, 5, 1.0), "A growth ratio is a number above 1"),
        (lambda: missed_molts(4, 5, math.nan), "A growth ratio is a number above 1"),
        (lambda: shrink_ratio([math.nan], 0.04, 0.03, 1.3), "A log ratio must be a number"),
        (lambda: shrink_ratio([0.3], -1, 0.03, 1.3), "The scatter within must be a number from zero up"),
        (lambda: shrink_ratio([0.3], 0.04, 0.03, 0), "A ratio must be a number above zero"),
        (lambda: fit_growth([(1, 2.0), (2, 3.0)]).next_size(1.0), "Limits hold a share between 0 and 1"),
    ],
)
def test_other_nonsense_is_refused_too(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()


def test_one_animal_is_no_cohort():
    cohort = fit_cohort([series("1 1.3 1.7")])
    assert (cohort.ratio, cohort.animals) == (None, 1)
    assert "two animals" in cohort.unknown


@given(SERIES)
def test_order_and_unit_do_not_change_the_ratio(points):
    fit, other = fit_growth(points), fit_growth([(i, size * 25.4) for i, size in reversed(points)])
    assert other.ratio == pytest.approx(fit.ratio)
    assert other.next_size(0.9) == pytest.approx(tuple(25.4 * mm for mm in fit.next_size(0.9)))


@given(SERIES, st.floats(0.1, 0.8))
def test_limits_enclose_the_median_and_widen_with_the_level(points, level):
    fit = fit_growth(points)
    median, low, high = fit.next_size(level)
    _, lower, higher = fit.next_size(level + 0.1)
    assert lower <= low <= median <= high <= higher


@given(st.lists(st.floats(-0.5, 1), max_size=8), st.floats(1.05, 2))
def test_a_shrunk_ratio_lies_between_its_own_and_its_kinds(logs, prior):
    found = shrink_ratio(logs, 0.08, 0.05, prior)
    own = math.exp(math.fsum(logs) / len(logs)) if logs else prior
    assert min(own, prior) - 1e-9 <= found.ratio <= max(own, prior) + 1e-9
    assert 0 <= found.weight < 1
    assert 0.08 <= found.predictive_sd <= math.hypot(0.08, 0.05)


@given(SIZES, st.integers(0, 12), st.floats(1.1, 1.8))
def test_hidden_molts_of_an_exact_series_are_counted_exactly(size, hidden, ratio):
    assert missed_molts(size, size * ratio ** (hidden + 1), ratio) == hidden
