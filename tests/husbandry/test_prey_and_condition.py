"""Which prey suits, out of which tub a meal came, and how well fed a spider is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Stage
from husbandry.condition import Body, body_condition
from husbandry.prey import match, prey_limit, say_prey, suggest


def test_a_mature_male_is_offered_small_prey():
    assert prey_limit(Stage.MATURE_MALE, 115.0) == 25.0
    assert prey_limit(Stage.ADULT, 115.0) == 50.0


def said(group, limit):
    return [one.said for one in suggest(group, limit)]


def test_what_suits_an_adult_tarantula_is_large_and_a_spiderling_gets_flies():
    assert said(Group.TARANTULA, 50)[:3] == ["locust 10–50 mm", "roach 25–50 mm", "superworm 45–50 mm"]
    assert said(Group.TARANTULA, 3) == ["fruit flies 2–3 mm", "pinhead cricket 2–3 mm", "springtails 1–2 mm"]


def test_what_flies_is_for_mantids_and_hunting_spiders_and_grazers_get_nothing():
    assert "flies 6–9 mm" in [one.said for one in suggest(Group.MANTIS, 20)]
    assert "flies 6–9 mm" not in [one.said for one in suggest(Group.SCORPION, 20)]
    assert suggest(Group.ISOPOD, 20) == suggest(Group.TARANTULA, None) == []


def test_prey_in_a_sentence_names_the_rule():
    assert say_prey(Group.TARANTULA, Stage.YOUNG, 3.0) == (
        "Up to 3 mm, no longer than half its body: fruit flies 2–3 mm, pinhead cricket 2–3 mm, springtails 1–2 mm. "
        "Pre-killed prey may be longer."
    )
    assert say_prey(Group.MILLIPEDE, Stage.ADULT, 30.0) == ""


@given(st.sampled_from(list(Group)), st.floats(0.5, 120))
def test_nothing_longer_than_the_limit_is_ever_suggested(group, limit):
    for one in suggest(group, limit):
        assert one.from_mm <= one.to_mm <= limit


STOCKS = [(1, "cricket", 5.0), (2, "cricket", 10.0), (3, "Roach", 30.0), (4, "fruit flies", None)]


@pytest.mark.parametrize(
    ("kind", "mm", "stock"),
    [
        ("cricket", 10.0, 2),
        ("Cricket ", 5.5, 1),
        ("cricket", 12.0, 2),
        ("cricket", 20.0, None),
        ("cricket", None, None),
        ("roach", None, 3),
        ("roach", 28.0, 3),
        ("fruit flies", 3.0, 4),
        ("fruit flies", None, 4),
        ("locust", 10.0, None),
        ("", 10.0, None),
    ],
)
def test_a_meal_comes_out_of_the_tub_of_its_name_and_nearest_size(kind, mm, stock):
    assert match(kind, mm, STOCKS) == stock


@pytest.mark.parametrize(
    ("carapace", "abdomen", "body"),
    [
        (20, 13.8, Body.SHRUNKEN),
        (20, 14, Body.LEAN),
        (20, 18, Body.WELL_FED),
        (20, 30, Body.FULL),
        (20, 40, Body.SWOLLEN),
    ],
)
def test_the_abdomen_against_the_carapace_in_a_word(carapace, abdomen, body):
    """Assumed limits: 0.7, 0.9, 1.5, 2.0."""
    assert body_condition(Group.TARANTULA, carapace, abdomen).body is body


def test_a_shrunken_abdomen_wants_water_and_a_look_but_no_diagnosis():
    found = body_condition(Group.TARANTULA, 20, 12)
    assert found.thin
    assert found.sentence.startswith("Abdomen 0.6 times the carapace: shrunken (below 0.7): fill the dish")


def test_unknown_without_both_measures_in_other_groups_and_for_a_slip_of_the_ruler():
    assert body_condition(Group.TARANTULA, 20, None).body is Body.UNKNOWN
    assert body_condition(Group.MANTIS, 20, 20).body is Body.UNKNOWN
    assert "a slip" in body_condition(Group.TARANTULA, 20, 200).sentence


@pytest.mark.parametrize("wrong", [0, -1, float("nan"), float("inf")])
def test_a_length_that_nothing_has_is_refused(wrong):
    with pytest.raises(ValueError, match="above zero"):
        body_condition(Group.TARANTULA, 20, wrong)
