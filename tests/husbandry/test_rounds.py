"""When water and upkeep fall due: common practice, with the keeper's own rhythm before it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Lifestyle
from husbandry.rounds import Round, upkeep_rounds, water_round

TODAY = date(2026, 12, 4)
USUAL = {"last": None, "begins": TODAY - timedelta(days=90), "own_days": None, "lifestyle": Lifestyle.TERRESTRIAL}


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def water(**values):
    return water_round(**{**USUAL, **values})


def test_nobody_is_asked_for_water_who_never_kept_track_of_it():
    assert water() is None


def test_water_falls_due_by_the_usual_days_of_the_lifestyle_or_by_the_own_rhythm():
    assert water(last=ago(3)) == Round(ago(3) + timedelta(days=7), 7)
    assert water(last=ago(3), own_days=2) == Round(ago(1), 2)
    assert water(own_days=2).due == USUAL["begins"]


def test_a_mature_male_has_a_water_duty_of_his_own():
    round_ = water(mature_since=ago(30))
    assert (round_.due, round_.days, round_.why) == (ago(30), 5, "a mature male drinks often")
    assert water(mature_since=ago(30), last=ago(4)).due == ago(-1)


def test_the_day_after_a_molt_fresh_water_is_due_even_where_nobody_keeps_track():
    round_ = water(molted=ago(2), hardens_until=ago(-8))
    assert (round_.due, round_.ends) == (ago(1), ago(-8))
    assert round_.why == "molted on 2 December 2026, hardening"


def test_while_it_hardens_the_dish_is_looked_at_every_three_days_and_then_no_more():
    assert water(molted=ago(2), hardens_until=ago(-8), last=ago(1)).due == ago(-2)
    assert water(molted=ago(12), hardens_until=ago(2), last=ago(3)) == water(last=ago(3))


def test_a_shorter_own_rhythm_stays_shorter_and_a_molt_elsewhere_does_not_count():
    assert water(molted=ago(2), hardens_until=ago(-8), last=ago(1), own_days=1).due == TODAY
    assert water(molted=ago(200), hardens_until=ago(190)) is None


@pytest.mark.parametrize("lifestyle", [Lifestyle.CULTURE, Lifestyle.SOIL])
def test_what_lives_in_its_food_has_no_duties(lifestyle):
    assert water(lifestyle=lifestyle, mature_since=ago(9), molted=ago(1), hardens_until=ago(-5)) is None


@given(st.integers(0, 60), st.integers(1, 60), st.integers(0, 40), st.integers(0, 21))
def test_a_molt_never_puts_water_off(last, own, molted, hardening):
    with_molt = water(last=ago(last), own_days=own, molted=ago(molted), hardens_until=ago(molted - hardening))
    assert with_molt.due <= water(last=ago(last), own_days=own).due


def test_rounds_come_soonest_first_and_count_from_the_last_or_from_their_beginning():
    rhythms = {"cleaning": (30, ago(5)), "misting": (3, ago(50)), "check": (0, ago(9))}
    assert upkeep_rounds(rhythms, {"misting": ago(2)}) == [
        ("misting", ago(-1), 3, ago(2)),
        ("cleaning", ago(-25), 30, None),
    ]


def test_an_impossible_rhythm_is_refused():
    with pytest.raises(ValueError, match="shorter"):
        upkeep_rounds({"misting": (-1, TODAY)}, {})
