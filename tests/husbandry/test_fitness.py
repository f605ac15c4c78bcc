"""Enclosures against the usual rules; each warning states its rule and how far to trust it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Lifestyle, Stage
from husbandry.fitness import Box, Dweller, remarks

SIZES = st.floats(1, 400)


def tarantula(size=150.0, lifestyle=Lifestyle.TERRESTRIAL, stage=Stage.ADULT) -> Dweller:
    return Dweller(Group.TARANTULA, lifestyle, stage, size)


def broken(box: Box, dweller: Dweller) -> list[str]:
    return [remark.rule for remark in remarks(box, dweller) if remark.broken]


FITS = Box(450, 300, 300, 100)


def test_a_floor_of_three_by_two_leg_spans_and_a_low_lid_fit_a_ground_dweller():
    assert remarks(FITS, tarantula()) == []


@pytest.mark.parametrize(
    ("box", "rule"),
    [
        (Box(449, 300, 300, 100), "three leg spans long"),
        (Box(450, 299, 300, 100), "two leg spans wide"),
        (Box(300, 450, 301, 100), "free fall"),  # the longer side is the length, whichever is named so
    ],
)
def test_a_millimetre_too_little_is_said(box, rule):
    # floor: care pages, length 3 × and width 2 × leg span; free fall: common practice, at most 1.5 × leg span or 200 mm
    assert broken(box, tarantula()) == [rule]


def test_the_fall_is_measured_from_the_substrate_and_says_both_numbers():
    [remark] = remarks(Box(450, 300, 400, 100), tarantula())
    assert remark.sentence == "It could fall 300 mm; for a heavy ground dweller of this size 200 mm is the most."
    assert remark.rests_on == "common practice"


def test_a_smaller_one_may_fall_less_deep():
    assert broken(Box(300, 200, 251, 100), tarantula(100)) == ["free fall"]
    assert broken(Box(300, 200, 250, 100), tarantula(100)) == []


@pytest.mark.parametrize("dweller", [tarantula(30, stage=Stage.GROWING), tarantula(60, stage=Stage.YOUNG)])
def test_what_weighs_little_may_climb(dweller):
    assert "free fall" not in broken(Box(400, 400, 900, 20), dweller)


def test_a_tree_dweller_needs_height_and_is_not_warned_of_a_fall():
    dweller = tarantula(lifestyle=Lifestyle.ARBOREAL)
    assert broken(Box(200, 200, 600, 50), dweller) == []
    assert broken(Box(200, 200, 299, 50), dweller) == ["two leg spans high"]


def test_a_burrower_needs_depth():
    dweller = tarantula(120, Lifestyle.FOSSORIAL)
    assert broken(Box(360, 240, 350, 199), dweller) == ["depth to burrow"]
    assert broken(Box(360, 240, 350, 200), dweller) == []


def test_a_mantis_needs_room_to_hang():
    # common practice: height at least three, width at least two body lengths
    mantis = Dweller(Group.MANTIS, Lifestyle.ARBOREAL, Stage.ADULT, 70, by_body=True)
    assert remarks(Box(140, 140, 210, 0), mantis) == []
    assert broken(Box(139, 140, 209, 0), mantis) == ["three body lengths to hang"]
    assert broken(Box(139, 140, 210, 0), mantis) == ["two body lengths wide"]


def test_a_stick_insect_hangs_and_a_millipede_digs():
    stick = Dweller(Group.STICK_INSECT, Lifestyle.ARBOREAL, Stage.ADULT, 80, by_body=True)
    millipede = Dweller(Group.MILLIPEDE, Lifestyle.FOSSORIAL, Stage.ADULT, 200, by_body=True)
    assert broken(Box(100, 100, 239), stick) == ["three body lengths to hang"]
    assert broken(Box(600, 300, 300, 199), millipede) == ["a body length of soil to molt in"]


@pytest.mark.parametrize("group", [Group.SCORPION, Group.CENTIPEDE, Group.ISOPOD, Group.ROACH, Group.BEETLE])
def test_where_no_rule_is_known_none_is_made_up(group):
    assert remarks(Box(10, 10, 10, 0), Dweller(group, Lifestyle.TERRESTRIAL, Stage.ADULT, 100, by_body=True)) == []


def test_what_is_not_on_record_is_asked_for_and_not_guessed():
    found = remarks(Box(), tarantula())
    assert [remark.broken for remark in found] == [False, False]
    assert "not on record; it should be at least 450 mm" in found[0].sentence
    [size] = remarks(FITS, tarantula(None))
    assert (size.rule, size.broken) == ("size", False)


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf])
def test_impossible_measures_are_refused(wrong):
    with pytest.raises(ValueError, match="millimetres"):
        remarks(Box(wrong, 1, 1, 1), tarantula())


@given(SIZES, SIZES, SIZES, SIZES, st.sampled_from(Group), st.sampled_from(Lifestyle), st.sampled_from(Stage))
def test_a_larger_floor_breaks_no_more_rules(length, width, height, size, group, lifestyle, stage):
    dweller = Dweller(group, lifestyle, stage, size)
    small, large = Box(length, width, height, 0), Box(length * 2, width * 2, height, 0)
    assert set(broken(large, dweller)) <= set(broken(small, dweller))
