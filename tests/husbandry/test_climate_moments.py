"""The climate at one instant, for whoever asks: by the sensor that hung nearest then, corrected by the test of then."""

from datetime import timedelta

import pytest
from django.utils import timezone

from husbandry.climate_services.moments import climate_at, hourly_temperatures
from husbandry.models import Calibration, Posting, Reading
from tests import factories as make
from tests.husbandry.sensors import NOW, sensor

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


def ago(**values):
    return timezone.now() - timedelta(**values)


def reading(sensor, minutes_ago, celsius=None, humidity=None):
    Reading.objects.create(sensor=sensor, at=NOW - 60 * minutes_ago, celsius=celsius, humidity=humidity)


@pytest.fixture
def room():
    return make.place("Room", "room")


@pytest.fixture
def box(room):
    return make.EnclosureFactory(code="E-1", place=make.place("Rack", parent=room))


def test_the_sensor_in_the_box_goes_before_that_of_the_room(box, room):
    inside, outside = sensor("inside", box), sensor("outside", room)
    reading(inside, 12, 2600, 7500)
    reading(outside, 2, 2100, 5000)
    found = climate_at(box, ago(minutes=10))
    assert (found.sensor, found.where, found.celsius) == ("Sensor inside", "E-1", 26)
    assert climate_at(box.place, timezone.now()).celsius == 21


def test_where_the_box_has_no_reading_the_room_answers(box, room):
    reading(sensor("inside", box), 90, 2600)
    reading(sensor("outside", room), 2, 2100)
    assert climate_at(box, timezone.now()).where == "Room"


def test_without_a_reading_within_half_an_hour_nothing_is_known(box, room):
    reading(sensor("outside", room), 31, 2100)
    assert climate_at(box, timezone.now()) is None
    assert climate_at(make.EnclosureFactory(), timezone.now()) is None


def test_what_follows_comes_with_its_spread(room):
    reading(sensor("a", room), 0, 2500, 6000)
    found = climate_at(room, timezone.now())
    assert found.dew_point == pytest.approx(16.70, abs=0.02)
    assert found.deficit == pytest.approx(1.268, abs=0.001)
    assert found.deficit_low < found.deficit < found.deficit_high
    assert found.says == "25.0 °C, 60 ± 5 %, as measured in Room"


def test_each_reading_is_corrected_by_the_test_that_held_then(room):
    tested = sensor("a", room)
    Calibration.objects.create(sensor=tested, since=ago(minutes=60), celsius=22, salt_1="NaCl", shown_1=71.4)
    reading(tested, 90, 2200, 6000)
    reading(tested, 0, 2200, 6000)
    before, after = climate_at(room, ago(minutes=90)), climate_at(room, timezone.now())
    assert (before.shown, before.humidity) == (60, 60)
    assert after.shown == 60
    assert after.humidity == pytest.approx(64.011, abs=0.001)
    assert after.plus_minus < before.plus_minus


def test_a_sensor_answers_only_for_where_it_hung_then(box, room):
    moved = sensor("a", room)
    Posting.objects.create(sensor=moved, enclosure=box, since=ago(minutes=30))
    reading(moved, 40, 2100)
    reading(moved, 0, 2600)
    assert climate_at(room, ago(minutes=40)).celsius == 21
    assert climate_at(room, timezone.now()) is None
    assert climate_at(box, timezone.now()).celsius == 26


def test_hours_are_means_weighed_by_time_and_gaps_are_left_out(room):
    made = sensor("a", room)
    for minutes in (*range(240, 119, -10), *range(60, -1, -10)):
        reading(made, minutes, 2400 if minutes > 180 else 2600)
    found = hourly_temperatures(room, ago(hours=4), timezone.now())
    assert [round(celsius, 1) for _, celsius in found] == [24.2, 26, 26]
    assert [int((timezone.now() - hour).total_seconds() / 3600) for hour, _ in found] == [4, 3, 1]
    assert hourly_temperatures(make.place("Attic", "room"), ago(hours=4), timezone.now()) == []
