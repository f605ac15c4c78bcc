"""Alarms of the climate on the dashboard: they come with what lives there, and go as they should."""

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from collection import attention
from collection.models import Taxon
from husbandry.climate_services import ingest, states
from husbandry.models import ClimateAlarm, Posting, SensorState
from tests import factories as make
from tests.husbandry.sensors import NOW, sensor

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
MINUTES = 60


@pytest.fixture
def box():
    """The box of an animal that wants 24 to 28 °C and 70 to 80 %."""
    taxon = make.TaxonFactory(celsius_min=24, celsius_max=28, humidity_min=70, humidity_max=80)
    return make.housed(make.SpecimenFactory(taxon=taxon), "E-1")


def measured(key, minutes_ago, celsius=None, humidity=None):
    message = {"sensor": key, "at": NOW - minutes_ago * MINUTES, "temperature": celsius, "humidity": humidity}
    sent = {name: value for name, value in message.items() if value is not None}
    answer = ingest.take_messages([sent], timezone.now())
    assert answer.stored, answer.refused


def series(key, values, every=10, **fixed):
    """The last of them now, the others before it."""
    for number, value in enumerate(values):
        measured(key, every * (len(values) - 1 - number), celsius=value, **fixed)


def troubles():
    return [(item.title, item.said.plate) for item in attention.house_sources["climate"](make.TODAY)]


def test_air_outside_for_half_an_hour_is_an_alarm_with_its_reason(box):
    sensor("a", box)
    series("a", [25, 29.5, 29.6, 29.7, 29.8])
    [item] = attention.house_sources["climate"](make.TODAY)
    assert (item.title, item.said.plate) == ("Sensor a", "too warm")
    wanted = f"wanted is 24–28 °C (figures of {Taxon.objects.get()})"
    assert item.said.sentence == f"29.8 °C since 09:30; {wanted}. Over after 30 min at 27.5 °C or less."


def test_an_open_door_is_none(box):
    sensor("a", box)
    series("a", [25, 20, 20, 25])
    assert troubles() == []


def test_it_is_over_half_an_hour_after_the_air_is_well_inside_and_stays_on_record(box):
    sensor("a", box)
    series("a", [29.5, 29.5, 29.5, 29.5, 27, 27, 27, 27])
    assert troubles() == []
    [alarm] = ClimateAlarm.objects.all()
    assert (alarm.kind, alarm.begins, alarm.ends) == ("celsius above", NOW - 70 * MINUTES, NOW)


def test_a_night_may_be_cooler():
    taxon = make.TaxonFactory(celsius_min=24, celsius_max=28)
    box = make.housed(make.SpecimenFactory(taxon=taxon))
    at_night = sensor("night", box, lights_on=12, lights_off=20)  # it is ten in the morning
    at_day = sensor("day", box)
    for key in ("night", "day"):
        series(key, [22] * 5)
    assert troubles() == [(at_day.name, "too cold")]
    assert not SensorState.objects.get(sensor=at_night).watches["celsius"]["rung"]


def test_an_alarm_of_the_night_says_that_a_night_may_be_cooler(box):
    sensor("a", box, lights_on=12, lights_off=20)
    series("a", [20] * 5)
    [item] = attention.house_sources["climate"](make.TODAY)
    assert "wanted is 21–28 °C (figures of" in item.said.sentence
    assert ", at night 3 °C cooler)." in item.said.sentence


def test_a_box_rings_for_humidity_and_the_air_of_a_room_does_not(box):
    box.place = make.place("Room", "room")
    box.save()
    inside, outside = sensor("box", box), sensor("room", box.place)
    for key in ("box", "room"):
        series(key, [25] * 5, humidity=50)
    assert troubles() == [(inside.name, "too dry")]
    outside.humidity_min, outside.humidity_max = 60, 70
    outside.save()
    states.rebuild([outside.pk])
    assert (outside.name, "too dry") in troubles()


def test_a_sensor_that_falls_silent_is_noticed_and_two_readings_end_it(box):
    silent = sensor("a", box)
    measured("a", 200, celsius=25)
    measured("a", 190, celsius=25)
    [item] = attention.house_sources["climate"](make.TODAY)
    assert (item.said.plate, item.said.urgency) == ("silent", "look")
    assert item.said.sentence == (
        "Nothing came since 06:50; it measures every 10 min and is called silent after 60 min. "
        "Two readings in time end that."
    )
    measured("a", 10, celsius=25)
    assert troubles() == [(silent.name, "silent")]
    measured("a", 0, celsius=25)
    assert troubles() == []
    assert ClimateAlarm.objects.get(kind="silent").begins == NOW - 190 * MINUTES


def test_a_sensor_that_never_spoke_is_noticed_and_one_put_away_is_not(box):
    never = sensor("a", box)
    assert troubles() == [(never.name, "silent")]
    Posting.objects.create(sensor=never, since=timezone.now() - timedelta(hours=1))
    assert troubles() == []


def test_late_readings_change_nothing_of_now(box):
    sensor("a", box)
    series("a", [25, 25])
    for minutes in (200, 190, 180, 170, 160):
        measured("a", minutes, celsius=35)
    assert troubles() == []


def test_worked_out_anew_is_as_kept_up_reading_by_reading(box):
    made = sensor("a", box)
    series("a", [25, 29, 29, 29, 29, 29, 27, 27, 27, 27, 20, 20, 20, 20, 20, 20], humidity=60)
    before = SensorState.objects.values().get(pk=made.pk)
    states.rebuild([made.pk])
    assert SensorState.objects.values().get(pk=made.pk) == before


def test_many_alarms_are_folded_and_ask_no_more_questions(box):
    def questions(number):
        for n in range(number, number + 8):
            sensor(f"s{n}", box)
        with CaptureQueriesContext(connection) as queries:
            found = troubles()
        return len(queries), found

    few, _ = questions(0)
    many, found = questions(8)
    assert many == few
    assert len(found) == 7
    assert found[-1] == ("Climate", "10 more")


def test_a_quiet_house_costs_the_dashboard_one_question(box):
    for n in range(5):
        sensor(f"s{n}", box)
        series(f"s{n}", [25, 25])
    with CaptureQueriesContext(connection) as queries:
        assert troubles() == []
    assert len(queries) == 1


def test_where_nobody_lives_nothing_is_wanted():
    sensor("a", make.place("Attic", "room"))
    series("a", [45] * 5)
    assert troubles() == []


def test_the_clock_of_the_house_is_its_own():
    assert datetime.fromtimestamp(NOW, states.house_zone()).hour == 10


def test_air_that_is_back_but_not_by_the_margin_says_when_the_alarm_ends(box):
    sensor("a", box)
    series("a", [23, 23, 23, 23, 24.2, 24.2])
    [item] = attention.house_sources["climate"](make.TODAY)
    assert item.said.sentence.startswith("24.2 °C since 09:10; wanted is 24–28 °C")
    assert item.said.sentence.endswith("Over after 30 min at 24.5 °C or more.")


@pytest.mark.parametrize("minutes", [0, 6 * 24 * 60])
def test_an_alarm_of_many_days_keeps_its_beginning_when_it_is_worked_out_anew(box, minutes):
    made = sensor("a", box)
    hours = range(9 * 24, -1, -1)
    warm = [{"sensor": "a", "at": NOW - n * 3600, "temperature": 31 if n * 60 >= minutes else 26} for n in hours]
    ingest.take_messages(warm, timezone.now())
    before = list(ClimateAlarm.objects.values_list("kind", "begins", "ends"))
    assert len(before) == 1
    states.rebuild([made.pk])
    assert list(ClimateAlarm.objects.values_list("kind", "begins", "ends")) == before
