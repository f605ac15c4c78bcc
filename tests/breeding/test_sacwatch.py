"""Sac or molt for one paired female: against quadrature by scipy, against stated assumptions, and what always holds."""

import math
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import lognorm

from breeding import sacwatch, signs
from breeding.sacwatch import SacOutlook, TaxonRecord
from collection.dates import FuzzyDate
from collection.intervals import IntervalPrior, Race, update

START = date(2026, 6, 1)
CERTAIN = 1e9  # a prior worth so many records is the log-normal itself
SAC, MOLT = (90, 0.35), (160, 0.25)  # medians in days and spreads of case R5.7


def known(median, spread):
    return update(IntervalPrior(median, CERTAIN, spread, CERTAIN))


def log_normal(median, spread):
    return lognorm(spread, scale=median)


def by_quadrature(elapsed, horizon, chance=1.0, starts=(0,)):
    """Chance of the sac first, of the molt first, within the horizon: the integrals themselves, one start at a time."""
    sac, molt = log_normal(*SAC), log_normal(*MOLT)

    def alive(t):
        return sum(1 - chance * sac.cdf(t + s) for s in starts) / len(starts)

    def density(t):
        return sum(chance * sac.pdf(t + s) for s in starts) / len(starts)

    end = elapsed + horizon if horizon < math.inf else 20_000
    both = alive(elapsed) * molt.sf(elapsed)
    points = [p for p in (100, 200, 400, 1000) if elapsed < p < end]
    options = {"points": points, "limit": 500, "epsabs": 1e-12}
    first = quad(lambda t: molt.sf(t) * density(t), elapsed, end, **options)[0]
    second = quad(lambda t: alive(t) * molt.pdf(t), elapsed, end, **options)[0]
    return first / both, second / both


def outlook(day=60, chance=1.0, paired=None, **values) -> SacOutlook:
    values = {"molt": known(*MOLT), "last_molt": START} | values
    return sacwatch.outlook(paired or FuzzyDate.on(START), START + timedelta(days=day), known(*SAC), chance, **values)


def test_the_race_of_case_r5_7():
    """Computation references, topic 5, case R5.7: quadrature of the two log-normals by scipy."""
    seen = outlook()
    assert seen.month == pytest.approx((0.428542, 0.007183, 0.564276), abs=2e-6)
    assert (seen.ever.first_a, seen.ever.first_b) == pytest.approx((0.896811, 0.103189), abs=2e-6)


@pytest.mark.parametrize("day", [0, 30, 90, 200])
@pytest.mark.parametrize("chance", [0.4, 2 / 3, 1.0])
def test_the_chances_are_those_of_quadrature(day, chance):
    seen = outlook(day, chance)
    for found, horizon in ((seen.soon, 14), (seen.month, 30), (seen.ever, math.inf)):
        assert (found.first_a, found.first_b) == pytest.approx(by_quadrature(day, horizon, chance), abs=1e-6)


def test_a_pairing_known_to_a_range_is_the_mean_of_its_starts():
    """The first, the middle and the last day count alike: an assumption of the program."""
    seen = outlook(60, 0.7, FuzzyDate(START - timedelta(days=20), START + timedelta(days=20)))
    expected = by_quadrature(60, 30, 0.7, starts=(20, 0, -20))
    assert (seen.month.first_a, seen.month.first_b) == pytest.approx(expected, abs=1e-6)


def test_a_molt_before_the_pairing_brings_the_next_one_nearer():
    early = outlook(60, last_molt=START - timedelta(days=60))
    assert early.molt_first > outlook(60).molt_first
    assert early.sac_soon < outlook(60).sac_soon


def test_without_a_molt_on_record_only_the_sac_is_forecast():
    seen = outlook(60, 0.6, molt=None, last_molt=None)
    assert not seen.molt_known
    assert seen.ever.first_b == 0
    base = 1 - 0.6 * log_normal(*SAC).cdf(60)
    assert seen.ever.first_a == pytest.approx(0.6 * log_normal(*SAC).sf(60) / base, abs=1e-6)


def test_the_window_is_the_middle_four_fifths_and_its_likelier_half():
    seen, sac = outlook(0), log_normal(*SAC)
    days = [(day - START).days for day in (seen.opens, seen.likely_from, seen.likely_until, seen.closes)]
    assert days == [round(sac.ppf(level)) for level in (0.1, 0.25, 0.75, 0.9)]


def test_the_window_of_a_vague_pairing_opens_with_its_first_day_and_closes_with_its_last():
    seen = outlook(30, paired=FuzzyDate(START - timedelta(days=10), START + timedelta(days=10)))
    exact = outlook(0)
    assert (seen.opens, seen.closes) == (exact.opens - timedelta(days=10), exact.closes + timedelta(days=10))
    assert (seen.likely_from, seen.likely_until) == (exact.likely_from, exact.likely_until)


def test_she_is_due_while_the_window_is_open_and_a_sac_may_still_come():
    exact = outlook(0)
    day = {name: (getattr(exact, name) - START).days for name in ("opens", "closes")}
    due = {
        n: outlook(n, 0.9, molt=None, last_molt=None).due for n in (day["opens"] - 1, day["opens"], day["closes"] + 1)
    }
    assert list(due.values()) == [False, True, False]


def test_she_is_not_due_when_a_sac_is_hardly_to_be_hoped_for():
    assert not outlook(90, 0.1).due
    assert outlook(90, 0.9).due


def test_a_day_before_the_pairing_has_no_outlook():
    with pytest.raises(ValueError, match="lies after the day asked for"):
        outlook(-1)


def test_the_prior_reads_the_range_of_the_taxon_as_its_middle_four_fifths():
    """An assumption: a month is 365.2425 / 12 days, the ends of the range are the 10 % and 90 % points."""
    prior = sacwatch.sac_prior(2, 4)
    median, spread = prior.median_days, prior.spread
    assert log_normal(median, spread).ppf([0.1, 0.9]) == pytest.approx([60.87375, 121.7475])
    assert (prior.records, prior.shape) == (2, 3)


def test_a_range_of_one_value_still_has_a_spread():
    assert sacwatch.sac_prior(3, 3).spread == sacwatch.SHORTEST_SPREAD


@pytest.mark.parametrize("months", [(None, None), (2, None), (None, 4), (0, 4), (4, 2)])
def test_a_taxon_without_a_figure_has_no_prior(months):
    assert sacwatch.sac_prior(*months) is None


@pytest.mark.parametrize(
    ("record", "insertions", "chance"),
    [
        (TaxonRecord(), None, 2 / 3),
        (TaxonRecord(), 2, 3.5 / 4.5),
        (TaxonRecord(), 0, 2 / 5),
        (TaxonRecord(successes=3, failures=1), None, 5 / 7),
        (TaxonRecord(successes=3, failures=1), 1, 6.5 / 8.5),
    ],
)
def test_the_belief_in_a_sac_counts_the_keepers_own_pairings_and_what_was_seen(record, insertions, chance):
    assert sacwatch.success_chance(record, insertions) == pytest.approx(chance)


@pytest.mark.parametrize(
    ("seen", "ratio"),
    [
        ([], 1),
        (["webbing"], 2.5),
        (["webbing", "webbing"], 2.5),
        (["webbing", "closed"], 5),
        (["nothing"], 0.8),
        (["nothing", "fattening"], 1.4),
        (["bald_dark"], 0.4),
        (["of old"], 1),
    ],
)
def test_each_sign_counts_once_and_nothing_new_only_alone(seen, ratio):
    assert signs.sign_ratio(seen) == pytest.approx(ratio)


def test_signs_multiply_the_odds_of_the_month_and_leave_the_other_two_in_proportion():
    month = Race(0.2, 0.1, 0.7)
    moved = sacwatch.shift(month, month, 2.5)
    assert moved.first_a / (1 - moved.first_a) == pytest.approx(0.2 / 0.8 * 2.5)
    assert moved.neither / moved.first_b == pytest.approx(7)
    assert sum(moved) == pytest.approx(1)


def test_what_signs_make_of_fewer_days_and_of_the_end_is_bayes_rule():
    """By hand: sacs within the month are 0.2 before and 1/3 after odds × 2, so all else is worth 5/6 of before."""
    month = Race(0.2, 0.1, 0.7)
    assert sacwatch.shift(Race(0.08, 0.04, 0.88), month, 2) == pytest.approx((0.08 * 5 / 3, 0.04 * 5 / 6, 0.8333333))
    assert sacwatch.shift(Race(0.5, 0.3, 0.2), month, 2) == pytest.approx((1 / 3 + 0.25, 0.25, 1 / 6))


@pytest.mark.parametrize("chances", [Race(0.0, 0.3, 0.7), Race(1.0, 0.0, 0.0)])
def test_what_is_certain_no_sign_can_move(chances):
    assert sacwatch.shift(chances, chances, 2.5) == chances


def test_signs_of_a_sac_raise_its_chance_and_lower_that_of_a_molt():
    plain, seen = outlook(90, 0.7), outlook(90, 0.7, signs=("webbing",))
    assert seen.sac_soon > plain.sac_soon
    assert seen.ever.first_a > plain.ever.first_a
    assert seen.molt_first < plain.molt_first
    assert (seen.plain, seen.ratio) == (plain.month, 2.5)


@given(
    day=st.integers(0, 600),
    chance=st.floats(0.05, 0.98),
    before=st.lists(st.sampled_from(sorted(signs.DEFAULT)), max_size=3),
)
def test_webbing_seen_as_well_never_lowers_the_chance_of_a_sac(day, chance, before):
    plain, seen = outlook(day, chance, signs=before), outlook(day, chance, signs=[*before, "webbing"])
    for name in ("soon", "month", "ever"):
        assert getattr(seen, name).first_a >= getattr(plain, name).first_a - 1e-9


def test_many_failures_leave_the_window_inside_the_calendar():
    forecast = sacwatch.sac_forecast(sacwatch.sac_prior(2, 4), (), (1500.0,) * 20)
    assert sacwatch.wait_window(forecast, 0.8)[1] == sacwatch.LONGEST_WAIT_DAYS


def test_quick_sacs_of_ones_own_draw_the_window_in():
    prior = sacwatch.sac_prior(2, 4)
    own = sacwatch.sac_forecast(prior, (60.0, 62.0, 58.0))
    assert own.median < sacwatch.sac_forecast(prior).median


@given(
    day=st.integers(0, 900),
    chance=st.floats(0.05, 0.98),
    molted=st.integers(0, 900),
    blur=st.integers(0, 60),
    seen_signs=st.lists(st.sampled_from(sorted(signs.DEFAULT))),
)
def test_chances_are_chances_whatever_the_day(day, chance, molted, blur, seen_signs):
    paired = FuzzyDate(START - timedelta(days=blur), START)
    seen = outlook(day, chance, paired, last_molt=START - timedelta(days=molted), signs=tuple(seen_signs))
    for race in (seen.soon, seen.month, seen.ever):
        assert all(-1e-9 <= share <= 1 + 1e-9 for share in race)
        assert sum(race) == pytest.approx(1)
    for one, longer in ((seen.soon, seen.month), (seen.month, seen.ever)):
        assert one.first_a <= longer.first_a + 1e-6
        assert one.first_b <= longer.first_b + 1e-6
    assert seen.opens <= seen.likely_from <= seen.likely_until <= seen.closes


def test_windows_hold_what_they_promise():
    """Simulation: taxa drawn from the prior, three sacs on record each; four fifths of 600 next ones fall inside."""
    random, prior, inside = Random(7), sacwatch.sac_prior(2, 4), 0
    for _ in range(600):
        spread = math.sqrt(prior.shape * prior.spread**2 / random.gammavariate(prior.shape, 1))
        mean = random.gauss(math.log(prior.median_days), spread / math.sqrt(prior.records))
        *own, following = (math.exp(random.gauss(mean, spread)) for _ in range(4))
        low, high = update(prior, own).window(0.8)
        inside += low <= following <= high
    assert inside / 600 == pytest.approx(0.8, abs=0.05)
