"""Stages: each group's own words, and how a stage is found."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Lifestyle, Stage, find_stage, stage_label

SPIDER_WORDS = {"spiderling", "mature male"}
sizes = st.none() | st.floats(0.5, 300)
anything_known = st.fixed_dictionaries(
    {
        "is_group": st.booleans(),
        "instar": st.none() | st.integers(1, 15),
        "size_mm": sizes,
        "adult_size_mm": sizes,
        "stage_seen": st.none() | st.sampled_from(Stage),
        "sex": st.sampled_from([None, "female", "male"]),
    }
)
not_spiders = st.sampled_from([g for g in Group if g not in (Group.TARANTULA, Group.TRUE_SPIDER)])


@pytest.mark.parametrize(
    ("group", "words"),
    [
        (Group.TARANTULA, ["spiderling", "juvenile", "subadult", "adult", "mature male"]),
        (Group.TRUE_SPIDER, ["spiderling", "juvenile", "subadult", "adult", "mature male"]),
        (Group.SCORPION, ["young scorpion", "juvenile", "subadult", "adult", "adult male"]),
        (Group.MANTIS, ["nymph", "nymph", "subadult nymph", "adult", "adult male"]),
        (Group.BEETLE, ["larva", "larva", "pupa", "beetle (imago)", "male beetle (imago)"]),
        (Group.ISOPOD, ["manca", "juvenile", "subadult", "adult", "adult male"]),
        (Group.CENTIPEDE, ["young", "juvenile", "subadult", "adult", "adult male"]),
    ],
)
def test_a_stage_has_the_word_of_its_group(group, words):
    order = (Stage.YOUNG, Stage.GROWING, Stage.SUBADULT, Stage.ADULT, Stage.MATURE_MALE)
    assert [stage_label(group, stage) for stage in order] == words


@given(not_spiders, st.sampled_from(Stage))
def test_no_word_of_spiders_leaks_into_other_groups(group, stage):
    assert stage_label(group, stage) not in SPIDER_WORDS


def test_terms_have_stored_values_and_labels():
    assert Group("true_spider").label == "true spider"
    assert Lifestyle.SOIL.label == "larva in soil"
    assert Group.choices()[6] == ("whip_spider", "whip spider or vinegaroon")
    assert f"{Group.TRUE_SPIDER}" == "true_spider"


@pytest.mark.parametrize(
    ("size", "stage"),
    [(10, Stage.YOUNG), (37, Stage.YOUNG), (40, Stage.GROWING), (90, Stage.SUBADULT), (119, Stage.SUBADULT),
     (120, Stage.ADULT), (170, Stage.ADULT)],
)  # fmt: skip
def test_size_against_adult_size_gives_the_stage(size, stage):
    found = find_stage(Group.TARANTULA, size_mm=size, adult_size_mm=150)
    assert found.stage is stage
    assert "of the adult size of 150 mm" in found.reason


@pytest.mark.parametrize(
    ("group", "instar", "stage"),
    [
        (Group.MANTIS, 3, Stage.YOUNG),
        (Group.MANTIS, 5, Stage.GROWING),
        (Group.MANTIS, 7, Stage.UNKNOWN),
        (Group.SCORPION, 2, Stage.YOUNG),
        (Group.TARANTULA, 4, Stage.YOUNG),
        (Group.TARANTULA, 9, Stage.UNKNOWN),
        (Group.BEETLE, 3, Stage.GROWING),
        (Group.MILLIPEDE, 2, Stage.UNKNOWN),
    ],
)
def test_an_instar_alone_never_makes_an_adult(group, instar, stage):
    assert find_stage(group, instar=instar).stage is stage


def test_a_small_tarantula_of_unknown_adult_size_is_a_spiderling():
    assert find_stage(Group.TARANTULA, size_mm=20).stage is Stage.YOUNG
    assert find_stage(Group.TARANTULA, size_mm=60).stage is Stage.UNKNOWN
    assert find_stage(Group.TRUE_SPIDER, size_mm=20).stage is Stage.UNKNOWN


def test_a_grub_is_not_judged_by_its_length():
    assert find_stage(Group.BEETLE, size_mm=90, adult_size_mm=60, instar=3).stage is Stage.GROWING


def test_the_keepers_judgement_wins_over_a_neighbouring_measurement():
    found = find_stage(Group.TARANTULA, size_mm=100, adult_size_mm=150, stage_seen=Stage.ADULT)
    assert found.stage is Stage.ADULT
    assert "Seen by the keeper" in found.reason


def test_a_measurement_two_stages_away_overrides_an_old_judgement():
    found = find_stage(Group.TARANTULA, size_mm=145, adult_size_mm=150, stage_seen=Stage.GROWING)
    assert found.stage is Stage.ADULT
    assert "does not fit" in found.reason


@given(st.sampled_from(Group), anything_known)
def test_the_ultimate_molt_beats_everything(group, known):
    assert find_stage(group, mature_male=True, **known).stage is Stage.MATURE_MALE


@given(st.sampled_from(Group), anything_known)
def test_every_stage_comes_with_a_reason(group, known):
    assert find_stage(group, **known).reason.endswith(".")


def test_a_male_spider_of_adult_size_waits_for_his_ultimate_molt():
    found = find_stage(Group.TARANTULA, size_mm=140, adult_size_mm=150, sex="male")
    assert found.stage is Stage.SUBADULT
    assert "No ultimate molt" in found.reason


def test_an_adult_male_spider_is_a_mature_male_and_a_female_never_is():
    assert find_stage(Group.TARANTULA, stage_seen=Stage.ADULT, sex="male").stage is Stage.MATURE_MALE
    assert find_stage(Group.TARANTULA, stage_seen=Stage.MATURE_MALE, sex="female").stage is Stage.ADULT
    assert find_stage(Group.MANTIS, stage_seen=Stage.ADULT, sex="male").stage is Stage.ADULT


def test_a_group_is_a_culture_unless_the_keeper_says_otherwise():
    assert find_stage(Group.ISOPOD, is_group=True, size_mm=10, adult_size_mm=18).stage is Stage.CULTURE
    assert find_stage(Group.TARANTULA, is_group=True, stage_seen=Stage.YOUNG).stage is Stage.YOUNG


def test_nothing_on_record_is_said_so():
    assert find_stage(Group.OTHER).stage is Stage.UNKNOWN
    assert find_stage(Group.OTHER, stage_seen=Stage.UNKNOWN).stage is Stage.UNKNOWN


@pytest.mark.parametrize("bad", [{"size_mm": 0}, {"size_mm": math.nan}, {"instar": 0}, {"adult_size_mm": -1}])
def test_sizes_and_instars_that_are_none_are_refused(bad):
    with pytest.raises(ValueError, match="above zero"):
        find_stage(Group.TARANTULA, **bad)
