"""The same lives through this program and through lifelines, statsmodels and scikit-survival."""

import math
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection import survival
from collection.survival import cumulative_incidence, kaplan_meier, log_rank
from tests.reference import judges

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::FutureWarning")
SEEDS = range(6)


def lives(seed, late=True):
    """Ages in whole days with many ties, two causes, and three groups; most came part-grown."""
    draw = np.random.default_rng(seed)
    entry = draw.integers(0, 30, 80) * late
    entry[:15] = 0
    return entry, entry + draw.integers(1, 40, 80), draw.integers(0, 3, 80), draw.integers(0, 3, 80)


def at(steps, times, before):
    return [survival.share_at(steps, time, before) for time in times]


@pytest.mark.parametrize("seed", SEEDS)
def test_curves_of_animals_that_came_late_are_those_of_lifelines_and_statsmodels(seed):
    entry, leaving, cause, _ = lives(seed)
    steps = kaplan_meier(leaving, cause > 0, entry)
    times = [step.time for step in steps]
    fitter = judges.load("lifelines").KaplanMeierFitter().fit(leaving, cause > 0, entry=entry)
    assert at(steps, times, 1) == pytest.approx(list(fitter.predict(times)), abs=1e-9)
    alive = [step for step in steps if step.survival]
    limits = fitter.confidence_interval_survival_function_.loc[times].to_numpy()[: len(alive)]
    assert np.array([(step.low, step.high) for step in alive]) == pytest.approx(limits, abs=1e-9)
    judge = judges.load("statsmodels.duration.survfunc").SurvfuncRight(leaving, cause > 0, entry=entry)
    errors = dict(zip(judge.surv_times, judge.surv_prob_se, strict=True))
    assert [step.standard_error for step in alive] == pytest.approx([errors[s.time] for s in alive], abs=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_causes_are_those_of_statsmodels_and_scikit_survival(seed):
    _, leaving, cause, _ = lives(seed, late=False)
    found = cumulative_incidence(leaving, cause)
    judge = judges.load("statsmodels.duration.survfunc").CumIncidenceRight(leaving, cause)
    times, shares = judges.load("sksurv.nonparametric").cumulative_incidence_competing_risks(cause, leaving)
    for kind in (1, 2):
        assert at(found[kind], judge.times, 0) == pytest.approx(list(judge.cinc[kind - 1]), abs=1e-9)
        assert at(found[kind], times, 0) == pytest.approx(list(shares[kind]), abs=1e-9)
        errors = dict(zip(judge.times, judge.cinc_se[kind - 1], strict=True))
        assert [s.standard_error for s in found[kind][:-1]] == pytest.approx(
            [errors[s.time] for s in found[kind][:-1]], abs=1e-5
        )


def test_causes_of_35_patients_are_those_of_scikit_survival():
    """R4.6."""
    features, outcome = judges.load("sksurv.datasets").load_bmt()
    found = cumulative_incidence(outcome["ftime"], outcome["status"])
    assert at(found[1], (1, 3, 12, 47), 0) == pytest.approx((0.057143, 0.145813, 0.272839, 0.272839), abs=1e-6)
    assert at(found[2], (1, 3, 12, 47), 0) == pytest.approx((0.057143, 0.115271, 0.340760, 0.481270), abs=1e-6)
    assert len(features) == 35


@pytest.mark.parametrize("seed", SEEDS)
def test_comparisons_are_those_of_lifelines_and_scikit_survival(seed):
    _, leaving, cause, group = lives(seed, late=False)
    found = log_rank(leaving, cause > 0, group)
    judge = judges.load("lifelines.statistics").multivariate_logrank_test(leaving, group, cause > 0)
    assert found == pytest.approx((judge.test_statistic, judge.p_value), rel=1e-6)
    outcome = judges.load("sksurv.util").Surv.from_arrays(cause > 0, leaving)
    assert found == pytest.approx(judges.load("sksurv.compare").compare_survival(outcome, group), rel=1e-6)


animals = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 20), st.integers(0, 3), st.integers(0, 2)), min_size=1, max_size=40
)


def columns(drawn):
    entry, lived, cause, group = (list(column) for column in zip(*drawn, strict=True))
    return entry, [a + b for a, b in zip(entry, lived, strict=True)], cause, group


@given(animals)
def test_a_curve_only_falls_between_its_limits(drawn):
    entry, leaving, cause, _ = columns(drawn)
    steps = kaplan_meier(leaving, [c > 0 for c in cause], entry)
    shares = [1.0, *(step.survival for step in steps)]
    assert all(a > b or a == b == 0 for a, b in pairwise(shares))
    assert all(0 <= s.low <= s.survival + 1e-12 and s.survival <= s.high + 1e-12 <= 1 + 1e-9 for s in steps)
    assert all(s.at_risk >= s.events > 0 and s.standard_error >= 0 for s in steps)


@given(animals)
def test_what_the_causes_took_is_what_the_curve_lost(drawn):
    entry, leaving, cause, _ = columns(drawn)
    steps = kaplan_meier(leaving, [c > 0 for c in cause], entry)
    taken = cumulative_incidence(leaving, cause, entry)
    for time in {step.time for step in steps}:
        lost = math.fsum(survival.share_at(found, time, 0.0) for found in taken.values())
        assert lost == pytest.approx(1 - survival.share_at(steps, time), abs=1e-9)


@given(animals)
@settings(max_examples=60)
def test_a_comparison_does_not_hang_on_names_order_or_unit(drawn):
    entry, leaving, cause, group = columns(drawn)
    if len(set(group)) < 2:
        return
    died = [c > 0 for c in cause]
    found = log_rank(leaving, died, group, entry)
    assert 0 <= found.p <= 1
    assert math.isfinite(found.chi_square)
    renamed = log_rank(
        [7 * t for t in leaving][::-1], died[::-1], [f"g{g}" for g in group][::-1], [7 * t for t in entry][::-1]
    )
    assert renamed == pytest.approx(found, rel=1e-6, abs=1e-9)


@given(animals)
def test_twice_the_animals_are_the_same_curve(drawn):
    entry, leaving, cause, _ = columns(drawn)
    died = [c > 0 for c in cause]
    once, twice = kaplan_meier(leaving, died, entry), kaplan_meier(leaving * 2, died * 2, entry * 2)
    assert [s.survival for s in twice] == pytest.approx([s.survival for s in once])
    assert all(b.standard_error <= a.standard_error + 1e-12 for a, b in zip(once, twice, strict=True))


def test_limits_hold_the_truth_nineteen_times_in_twenty():
    """400 collections of 60 that die at one steady rate and are lost at another: the truth at one mean life is 1/e."""
    draw, held = np.random.default_rng(7), 0
    for _ in range(400):
        life, lost = draw.exponential(1.0, 60), draw.exponential(2.0, 60)
        steps = [s for s in kaplan_meier(np.minimum(life, lost), life < lost) if s.time <= 1]
        held += steps[-1].low <= math.exp(-1) <= steps[-1].high
    assert 0.92 <= held / 400 <= 0.98


def test_twenty_thousand_animals_take_a_moment():
    draw = np.random.default_rng(1)
    entry = draw.integers(0, 900, 20_000)
    leaving = entry + draw.integers(1, 3000, 20_000)
    steps = kaplan_meier(leaving, draw.integers(0, 2, 20_000), entry)
    assert 1000 < len(steps) < 4000


def test_the_module_loads_neither_scipy_nor_the_judges():
    heavy = "{'scipy', 'numpy', 'lifelines'}"
    code = f"import sys, collection.survival, collection.scoring; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
