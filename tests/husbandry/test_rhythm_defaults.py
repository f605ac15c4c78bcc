"""Usual rhythms, waits and water: figures of care pages and common practice, none from a study."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Lifestyle, Stage
from husbandry.rhythm import arrival_rest, default_rhythm, hardening, water_interval

MOLTED = date(2026, 11, 10)
GROUND = Lifestyle.TERRESTRIAL


@pytest.mark.parametrize(
    ("group", "stage", "low", "high"),
    [
        (Group.TARANTULA, Stage.YOUNG, 3, 7),
        (Group.TARANTULA, Stage.GROWING, 3, 7),
        (Group.TARANTULA, Stage.ADULT, 7, 14),
        (Group.TARANTULA, Stage.MATURE_MALE, 5, 10),
        (Group.MANTIS, Stage.YOUNG, 2, 2),
        (Group.MANTIS, Stage.ADULT, 3, 4),
        (Group.TRUE_SPIDER, Stage.YOUNG, 2, 3),
        (Group.TRUE_SPIDER, Stage.ADULT, 3, 7),
    ],
)
def test_a_rhythm_lies_in_the_range_it_states(group, stage, low, high):
    """Ranges: care pages and common practice for feeding spiderlings to adults, mantids and jumping spiders."""
    assert low <= default_rhythm(group, stage, GROUND).days <= high


def test_slow_species_are_fed_less_often_and_within_10_to_30_days():
    slow = default_rhythm(Group.TARANTULA, Stage.ADULT, GROUND, slow=True)
    assert 10 <= slow.days <= 30
    assert slow.days > default_rhythm(Group.TARANTULA, Stage.ADULT, GROUND).days
    assert "slow species" in slow.reason


def test_slowness_does_not_starve_a_spiderling():
    young = [default_rhythm(Group.TARANTULA, Stage.YOUNG, GROUND, slow=slow) for slow in (True, False)]
    assert young[0] == young[1]


def test_the_smallest_spiderlings_are_fed_every_2_to_3_days():
    assert default_rhythm(Group.TARANTULA, Stage.YOUNG, GROUND, size_mm=6).days in (2, 3)


@pytest.mark.parametrize("group", [Group.ISOPOD, Group.MILLIPEDE, Group.ROACH, Group.STICK_INSECT, Group.BEETLE])
def test_grazers_have_no_rhythm(group):
    assert all(default_rhythm(group, stage, GROUND) is None for stage in Stage)


def test_cultures_and_larvae_in_soil_have_no_rhythm():
    assert default_rhythm(Group.ROACH, Stage.CULTURE, Lifestyle.CULTURE) is None
    assert default_rhythm(Group.TARANTULA, Stage.ADULT, Lifestyle.SOIL) is None


def test_a_communal_group_of_hunters_is_still_fed():
    assert default_rhythm(Group.TARANTULA, Stage.CULTURE, GROUND).days == 7


def test_a_stage_not_known_is_fed_as_a_growing_animal_and_says_so():
    found = default_rhythm(Group.SCORPION, Stage.UNKNOWN, GROUND)
    assert found.days == default_rhythm(Group.SCORPION, Stage.GROWING, GROUND).days
    assert "stage not known" in found.reason


@given(st.sampled_from(Group), st.sampled_from(Stage), st.sampled_from(Lifestyle), st.booleans())
def test_every_rhythm_says_what_it_rests_on(group, stage, lifestyle, slow):
    found = default_rhythm(group, stage, lifestyle, slow=slow)
    assert found is None or (not found.own and ("practice" in found.reason or "care pages" in found.reason))


@pytest.mark.parametrize(
    ("stage", "size", "low", "high"),
    [
        (Stage.YOUNG, None, 3, 5),
        (Stage.GROWING, None, 5, 7),
        (Stage.ADULT, 120, 10, 14),
        (Stage.MATURE_MALE, 150, 10, 14),
        (Stage.ADULT, 220, 14, 21),
        (Stage.UNKNOWN, 20, 3, 5),
        (Stage.UNKNOWN, 45, 5, 7),
        (Stage.UNKNOWN, None, 10, 14),
    ],
)
def test_hardening_takes_as_long_as_the_stage_needs(stage, size, low, high):
    """Common practice: spiderling 3–5, juvenile 5–7, adult 10–14, giants 14–21 days."""
    hold = hardening(stage, size, MOLTED)
    assert hold.begins == MOLTED
    assert low <= (hold.ends - MOLTED).days <= high
    assert hold.reason == "Hardening after the molt of 10 November 2026"


def test_an_arrival_rests_between_2_and_7_days():
    hold = arrival_rest(MOLTED)
    assert timedelta(days=2) <= hold.ends - hold.begins <= timedelta(days=7)


@pytest.mark.parametrize("lifestyle", Lifestyle)
def test_a_mature_male_keeps_water_duties_and_drinks_at_least_as_often(lifestyle):
    assert 1 <= water_interval(lifestyle, mature_male=True) <= water_interval(lifestyle)
