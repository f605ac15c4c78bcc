"""A phone's clock may be wrong, or put right on the way; a tap counts for the minute it was made in the house."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine

from husbandry.parcels import Clock, clock_since
from tests import factories as make
from tests.husbandry.walking import stored, take, tap, walk_past

NOW = datetime(2026, 12, 4, 9, 0, tzinfo=UTC)
BEGAN = NOW - timedelta(minutes=30)
MADE = NOW - timedelta(minutes=10)
HOUR, NONE = timedelta(hours=1), timedelta()


@pytest.mark.parametrize("lead", [NONE, 7 * HOUR, -7 * HOUR, timedelta(days=4000)])
def test_a_clock_that_is_wrong_throughout_is_corrected_by_what_it_said_when_it_sent(lead):
    assert Clock(BEGAN, NOW, lead).house_time(MADE + lead, None) == MADE


@pytest.mark.parametrize("lead", [7 * HOUR, -7 * HOUR])
def test_a_clock_put_right_after_the_tap_is_corrected_by_what_it_knew_of_itself(lead):
    assert Clock(BEGAN, NOW, NONE).house_time(MADE + lead, lead) == MADE


@pytest.mark.parametrize("lead", [7 * HOUR, -7 * HOUR])
def test_a_clock_put_right_before_the_tap_is_taken_at_its_word(lead):
    assert Clock(BEGAN, NOW, NONE).house_time(MADE, lead) == MADE


def test_a_time_that_fits_nowhere_becomes_the_nearest_that_does():
    clock = Clock(BEGAN, NOW, NONE)
    assert clock.house_time(NOW + 5 * HOUR, None) == NOW
    assert clock.house_time(BEGAN - 5 * HOUR, None) == BEGAN


def test_the_way_through_the_wifi_moves_no_tap_past_its_arrival():
    late = Clock(BEGAN, NOW, timedelta(seconds=-20))  # sent at the moment of the tap, twenty seconds on the way
    assert late.house_time(NOW - timedelta(seconds=20), NONE) == NOW - timedelta(seconds=20)
    assert late.house_time(NOW - timedelta(seconds=5), None) == NOW


@pytest.mark.parametrize("word", [None, 17, "yesterday", "2026-12-04T09:00:00", "2026-13-01T00:00:00Z"])
def test_a_phone_that_does_not_say_when_it_sent_is_taken_at_its_word(word):
    assert clock_since(BEGAN, word, NOW).lead == NONE


@pytest.mark.parametrize("lead", [5 * HOUR, -13 * HOUR])
@pytest.mark.django_db
def test_a_meal_lands_on_the_day_of_the_house_whatever_the_phone_says(keeper, lead):
    animal = make.SpecimenFactory()
    with time_machine.travel(make.NOW, tick=False):
        walk = walk_past(animal, by=keeper)
        raw = tap("taken", animal, ago=timedelta(minutes=5) - lead)
        take(walk, raw, lead=lead)
    assert stored(raw).happened_at == NOW - timedelta(minutes=5)
    assert stored(raw).feeding.on == date(2026, 12, 4)


@pytest.mark.parametrize("lead", [1e300, float("nan"), True, "an hour", -1e14])
@pytest.mark.django_db
def test_a_lead_that_no_clock_can_have_is_not_believed(keeper, lead):
    animal = make.SpecimenFactory()
    with time_machine.travel(make.NOW, tick=False):
        walk = walk_past(animal, by=keeper)
        take(walk, raw := tap("taken", animal, ago=timedelta(minutes=5), lead=lead))
    assert stored(raw).happened_at == NOW - timedelta(minutes=5)


@pytest.mark.parametrize(("made", "day"), [("22:59:50", 4), ("23:00:10", 5)])
@pytest.mark.django_db
def test_the_day_changes_at_midnight_in_the_house(keeper, made, day):
    animal = make.SpecimenFactory()
    with time_machine.travel("2026-12-04T23:20:00+00:00", tick=False):  # twenty past midnight in the house
        walk = walk_past(animal, by=keeper)
        take(walk, raw := tap("taken", animal, at=f"2026-12-04T{made}+00:00"), wet := tap("water", animal))
    assert stored(raw).feeding.on == date(2026, 12, day)
    assert stored(wet).upkeep.on == date(2026, 12, 5)
