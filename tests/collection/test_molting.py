"""When the next molt is to be expected: priors as stated, an animal's own molts, and days that are vague."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import lognorm, t

from collection import molting
from collection.dates import FuzzyDate
from collection.stages import Group, Stage

DAY = date(2026, 1, 1)


def days(n):
    return timedelta(days=n)


def molts(*ago, blur=0):
    return [FuzzyDate(DAY - days(n + blur), DAY - days(n)) for n in ago]


@pytest.mark.parametrize(("group", "stage"), molting.RANGES)
def test_a_prior_reads_its_range_as_the_middle_four_fifths(group, stage):
    """Ranges: common practice, and the sources that the module names; reading them so is an assumption."""
    low, high = molting.RANGES[group, stage]
    prior = molting.prior(group, stage)
    assert lognorm(prior.spread, scale=prior.median_days).ppf([0.1, 0.9]) == pytest.approx([low, high])


@pytest.mark.parametrize(
    ("group", "stage"),
    [
        (Group.TARANTULA, Stage.MATURE_MALE),
        (Group.TARANTULA, Stage.UNKNOWN),
        (Group.MANTIS, Stage.ADULT),
        (Group.TRUE_SPIDER, Stage.ADULT),
        (Group.ISOPOD, Stage.ADULT),
        (Group.OTHER, Stage.YOUNG),
    ],
)
def test_who_molts_no_more_or_of_whom_nothing_is_known_has_no_forecast(group, stage):
    assert molting.outlook(group, stage, molts(10)) is None


def test_without_a_molt_on_record_there_is_no_forecast():
    assert molting.outlook(Group.TARANTULA, Stage.ADULT, []) is None


def test_one_molt_gives_the_forecast_of_the_prior_counted_from_it():
    seen = molting.outlook(Group.TARANTULA, Stage.ADULT, molts(0))
    prior = molting.prior(Group.TARANTULA, Stage.ADULT)
    # Closed form: Student t of twice the shape, wider by the uncertainty of the mean (Gelman et al., section 3.3).
    reach = t(2 * prior.shape).ppf(0.9) * prior.spread * (1 + 1 / prior.records) ** 0.5
    ratio = 2.718281828459045**reach
    expected = [round(prior.median_days * factor) for factor in (1 / ratio, 1, ratio)]
    assert [(day - DAY).days for day in (seen.begins, seen.likely, seen.ends)] == expected
    assert (seen.last, seen.own_intervals) == (DAY, 0)


def test_own_molts_draw_the_forecast_to_their_own_pace():
    quick = molting.outlook(Group.TARANTULA, Stage.ADULT, molts(0, 200, 400, 600))
    slow = molting.outlook(Group.TARANTULA, Stage.ADULT, molts(0, 700, 1400, 2100))
    alone = molting.outlook(Group.TARANTULA, Stage.ADULT, molts(0))
    assert quick.likely < alone.likely < slow.likely
    assert quick.own_intervals == 3


def test_the_order_in_which_molts_come_does_not_matter():
    found = molts(0, 250, 500)
    assert molting.outlook(Group.TARANTULA, Stage.ADULT, found[::-1]).likely == (
        molting.outlook(Group.TARANTULA, Stage.ADULT, found).likely
    )


def test_intervals_of_a_growing_animal_are_lengthened_and_those_of_an_adult_are_not():
    found = molts(0, 100, 200)
    assert molting._intervals(sorted(found), 1.0) == [100, 100]
    assert molting._intervals(sorted(found), 1.15) == pytest.approx([100 * 1.15, 100 * 1.15**2])


def test_only_the_latest_intervals_count():
    found = molts(*range(0, 1000, 100))
    assert molting.outlook(Group.TARANTULA, Stage.GROWING, found).own_intervals == molting.OWN_INTERVALS


def test_an_interval_between_vague_days_stays_a_range():
    assert molting._intervals(sorted(molts(0, 100, blur=10)), 1.0) == [(90, 110)]
    assert molting._intervals(sorted(molts(0, 1000, blur=10)), 1.0) == [1000]


def test_two_vague_days_that_overlap_are_at_least_a_day_apart():
    assert molting._intervals(sorted(molts(0, 5, blur=30)), 1.0) == [(1, 35)]


def test_two_molts_of_one_day_are_no_interval():
    assert molting._intervals(molts(0, 0), 1.0) == []


@given(
    st.sampled_from(sorted(molting.RANGES)),
    st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 200)), min_size=1, max_size=7),
)
def test_a_forecast_is_in_order_whatever_the_molts(kind, found):
    seen = molting.outlook(*kind, [FuzzyDate(DAY - days(n + blur), DAY - days(n)) for n, blur in found])
    assert seen.last <= seen.begins <= seen.likely <= seen.ends


def test_intervals_lengthen_by_the_published_factor_as_far_as_it_is_known():
    """R7.7: 28 33 41 52 63 days lengthen by 1.230794; five intervals weigh .01 / (.01 + .0625 / 10)."""
    weight = 0.01 / (0.01 + 0.0625 / 10)
    expected = 1.230794**weight * molting.LENGTHENING ** (1 - weight)
    assert molting.lengthening([28, 33, 41, 52, 63]) == pytest.approx(expected, abs=1e-5)


def test_two_intervals_say_nothing_of_how_they_lengthen():
    assert molting.lengthening([28, 63]) == molting.lengthening([]) == molting.LENGTHENING


def test_inside_a_stage_the_larger_waits_longer_and_never_leaves_its_range():
    found = [molting.prior_at(Group.TARANTULA, Stage.YOUNG, part).median_days for part in (0.01, 0.1, 0.2, 0.24, 3)]
    assert found == sorted(found)
    assert found[0] < found[-1] == molting.RANGES[Group.TARANTULA, Stage.YOUNG][1]


def test_without_a_size_and_for_the_grown_the_prior_is_that_of_the_stage():
    plain = molting.prior(Group.TARANTULA, Stage.GROWING)
    assert molting.prior_at(Group.TARANTULA, Stage.GROWING) == plain
    assert molting.prior_at(Group.TARANTULA, Stage.GROWING, 0.37).median_days == pytest.approx(plain.median_days)
    adult = molting.prior_at(Group.TARANTULA, Stage.ADULT, 0.85)
    assert adult == molting.prior(Group.TARANTULA, Stage.ADULT)


def test_a_group_whose_stages_are_alike_does_not_mind_the_size():
    assert molting.prior_at(Group.MANTIS, Stage.YOUNG, 0.1).median_days == pytest.approx(
        molting.prior(Group.MANTIS, Stage.YOUNG).median_days
    )


def test_a_share_of_nothing_is_refused():
    with pytest.raises(ValueError, match="share of the adult size"):
        molting.prior_at(Group.TARANTULA, Stage.YOUNG, 0)


def test_an_interval_that_hides_a_molt_is_not_counted():
    found = molts(0, 60, 200)
    plain = molting.outlook(Group.TARANTULA, Stage.GROWING, found)
    wary = molting.outlook(Group.TARANTULA, Stage.GROWING, found, doubtful=[found[1]])
    assert (plain.own_intervals, wary.own_intervals) == (2, 1)
    assert wary.likely < plain.likely


def test_the_longer_it_waits_the_later_the_rest_of_the_window():
    seen = molting.outlook(Group.TARANTULA, Stage.GROWING, molts(0))
    whole = molting.still_to_come(seen, DAY)
    late = molting.still_to_come(seen, DAY + days(120))
    assert whole == (seen.begins, seen.likely, seen.ends)
    assert all(now > before for now, before in zip(late, whole, strict=True))
    assert late[0] > DAY + days(120)


def test_a_wait_that_outlived_its_forecast_has_none():
    seen = molting.outlook(Group.TARANTULA, Stage.YOUNG, molts(0))
    assert molting.still_to_come(seen, DAY + days(2000)) is None
    assert molting.still_to_come(seen, DAY - days(1)) is None


def test_the_window_shown_never_lies_wholly_behind_today():
    seen = molting.outlook(Group.TARANTULA, Stage.GROWING, molts(0))
    assert molting.expected(seen, seen.begins) == (seen.begins, seen.likely, seen.ends)
    low, middle, _ = molting.expected(seen, seen.ends + days(10))
    assert middle > low >= seen.ends + days(10)
    assert molting.expected(seen, DAY + days(3000)) is None
