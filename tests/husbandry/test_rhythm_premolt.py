"""When refusals are taken for premolt, and when they are a worry."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Stage
from husbandry.fasting import refusal_alert
from husbandry.rhythm import HoldKind, premolt_hold

MOLTED = date(2026, 1, 1)
WINDOW = (100.0, 200.0)


def after(*days: int) -> list[date]:
    return [MOLTED + timedelta(days=n) for n in days]


def test_two_refusals_inside_the_window_are_premolt_from_the_second_on():
    hold = premolt_hold(after(110, 117), MOLTED, WINDOW)
    assert hold.kind is HoldKind.PREMOLT
    assert hold.begins == after(117)[0]
    assert hold.reason == "Premolt likely: refused twice, 117 days after the molt of 1 January 2026"


def test_the_hold_ends_with_the_window_so_no_animal_is_forgotten():
    assert premolt_hold(after(110, 117), MOLTED, WINDOW).ends == after(201)[0]


def test_an_early_refusal_counts_but_the_hold_waits_for_the_window():
    assert premolt_hold(after(60, 80), MOLTED, WINDOW) is None
    assert premolt_hold(after(60, 80, 104), MOLTED, WINDOW).begins == after(104)[0]


def test_one_refusal_is_not_premolt():
    assert premolt_hold(after(150), MOLTED, WINDOW) is None


def test_refusals_beyond_the_window_are_not_explained_by_premolt():
    assert premolt_hold(after(210, 220), MOLTED, WINDOW) is None


def test_a_sign_inside_the_window_is_enough():
    hold = premolt_hold([], MOLTED, WINDOW, signs=after(120))
    assert hold.begins == after(120)[0]
    assert "a sign seen" in hold.reason


def test_a_sign_before_the_window_counts_for_nothing():
    assert premolt_hold([], MOLTED, WINDOW, signs=after(20)) is None
    assert premolt_hold(after(110), MOLTED, WINDOW, signs=after(20)) is None


def test_without_a_forecast_a_sign_and_a_refusal_stop_feeding_for_a_while():
    hold = premolt_hold(after(40), None, None, signs=after(43))
    assert (hold.begins, hold.ends) == (after(43)[0], after(73)[0])
    assert premolt_hold(after(40, 47, 54), None, None) is None
    assert premolt_hold([], MOLTED, None, signs=after(43)) is None


@given(st.lists(st.integers(1, 300), max_size=6), st.lists(st.integers(1, 300), max_size=3))
def test_a_premolt_hold_lies_inside_its_window(refused, signs):
    hold = premolt_hold(after(*refused), MOLTED, WINDOW, after(*signs))
    if hold:
        assert after(100)[0] <= hold.begins < hold.ends == after(201)[0]
        assert hold.begins in after(*refused, *signs)


def alert(group, stage, refusals, days, **excuse):
    return refusal_alert(
        group, stage, refusals=refusals, last_taken=MOLTED, in_house_since=None, today=after(days)[0], **excuse
    )


@pytest.mark.parametrize(
    ("stage", "refusals", "days", "warns"),
    [
        (Stage.YOUNG, 3, 30, False),
        (Stage.YOUNG, 4, 16, True),
        (Stage.GROWING, 5, 60, False),
        (Stage.GROWING, 5, 61, True),
        (Stage.UNKNOWN, 5, 61, True),
        (Stage.ADULT, 9, 120, False),
        (Stage.ADULT, 9, 121, True),
        (Stage.ADULT, 0, 300, False),
        (Stage.MATURE_MALE, 9, 300, False),
        (Stage.CULTURE, 9, 300, False),
    ],
)
def test_a_fast_is_a_worry_only_beyond_the_limit_of_its_stage(stage, refusals, days, warns):
    """Assumed limits: more than 3 feedings for spiderlings, 60 days for juveniles, 120 for adults."""
    assert bool(alert(Group.TARANTULA, stage, refusals, days)) is warns


@pytest.mark.parametrize("excuse", ["premolt", "gravid", "mature_male"])
def test_a_fast_with_a_good_reason_is_no_worry(excuse):
    assert alert(Group.TARANTULA, Stage.ADULT, 20, 300) is not None
    assert alert(Group.TARANTULA, Stage.ADULT, 20, 300, **{excuse: True}) is None


def test_a_mantis_is_not_left_to_fast_for_months():
    assert alert(Group.MANTIS, Stage.ADULT, 4, 14) == "Refused 4 times in a row; look at the abdomen and offer water."


def test_an_animal_never_fed_fasts_since_its_arrival():
    warning = refusal_alert(
        Group.TARANTULA, Stage.ADULT, refusals=2, last_taken=None, in_house_since=MOLTED, today=after(130)[0]
    )
    assert warning == "No food taken for 130 days, refused twice; look at the abdomen and offer water."


def test_without_any_date_there_is_no_length_to_warn_of():
    silent = refusal_alert(
        Group.TARANTULA, Stage.ADULT, refusals=2, last_taken=None, in_house_since=None, today=after(130)[0]
    )
    assert silent is None
