"""The climate's pages: ribbons, a salt test step by step, a reading by hand, tokens shown once."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from collection import receipts
from collection.models import Receipt
from husbandry.climate_services import devices
from husbandry.forms.climate import SensorForm
from husbandry.models import Calibration, Device, Posting, Reading, ReadingBatch, Sensor, SensorState
from tests import factories as make
from tests.husbandry.sensors import NOW, send, sensor

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


def page(client, name, *args, **query):
    answer = client.get(reverse(f"husbandry:{name}", args=args), query)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def measured(made: Sensor, hours: int = 48, celsius: int = 2500, humidity: int = 6000) -> None:
    """Every ten minutes up to now."""
    rows = [Reading(sensor=made, at=NOW - 600 * n, celsius=celsius, humidity=humidity) for n in range(6 * hours)]
    Reading.objects.bulk_create(rows)


@pytest.fixture
def room():
    return make.place("Room", "room")


@pytest.fixture
def made(room):
    return sensor("a", room, humidity_min=70, humidity_max=80)


def calibrated(client, made, **values):
    sent = {"celsius": "22", "salt_1": "NaCl", "shown_1": "71.4", **values}
    return client.post(reverse("husbandry:calibrate", args=[made.pk]), sent)


def test_a_ribbon_says_in_words_what_it_draws(keeper_client, room, made):
    measured(made)
    text = page(keeper_client, "place-climate", room.pk, range="day")
    assert "On average <b>25.0 °C</b>" in text
    assert "<b>10 h</b> outside 70–80 %, below" in text
    assert "The air lacks <b>1.27 kPa</b> of vapour, between 1.11 and 1.43" in text
    assert "dew falls at 16.7 °C" in text
    assert "never tested with salt" in text


def test_gaps_stay_gaps_in_the_line_and_are_said(keeper_client, room, made):
    measured(made)
    Reading.objects.filter(at__range=(NOW - 6 * 3600, NOW - 3 * 3600)).delete()
    text = page(keeper_client, "place-climate", room.pk, range="day")
    assert "Of 3 h nothing is known" in text
    line = re.search(r'class="measured" d="([^"]+)"', text)[1]
    assert line.count("M") == 2


@pytest.mark.parametrize("name", ["day", "week", "month", "year", "nonsense"])
def test_any_length_opens_also_without_a_reading_and_before_any(keeper_client, room, made, name):
    assert "No reading in this time" in page(keeper_client, "place-climate", room.pk, range=name)
    assert "No sensor hung here" in page(keeper_client, "place-climate", room.pk, range=name, until="2020-02-29")
    assert "No reading in this time" in page(keeper_client, "sensor-detail", made.pk, range=name, until="what")


def test_a_place_shows_a_sensor_only_while_it_hung_there(keeper_client, room, made):
    measured(made, hours=72)
    attic = make.place("Attic", "room")
    Posting.objects.create(sensor=made, place=attic, since=timezone.now() - timedelta(hours=2))
    assert "Of 2 h nothing is known" in page(keeper_client, "place-climate", room.pk, range="day")
    assert "Sensor a" in page(keeper_client, "place-climate", attic.pk, range="day")
    before = page(keeper_client, "place-climate", attic.pk, range="day", until="2026-12-02")
    assert "No sensor hung here in this time" in before


def test_an_enclosure_without_a_sensor_borrows_that_of_its_place(keeper_client, room, made):
    measured(made)
    box = make.EnclosureFactory(place=room)
    assert "No sensor hangs in this enclosure" in page(keeper_client, "enclosure-climate", box.pk)


def test_a_salt_test_shows_what_follows_before_it_is_kept(keeper_client, made):
    answer = calibrated(keeper_client, made)
    assert answer.status_code == 200
    assert "<b>+4.0 %</b> is added" in " ".join(answer.content.decode().split())
    assert Calibration.objects.count() == 0
    assert calibrated(keeper_client, made, keep="1").status_code == 302
    row = Calibration.objects.get()
    assert (row.salt_1, row.shown_1, row.since) == ("NaCl", 71.4, timezone.now())


REFUSED = {
    "nothing": ({"shown_1": ""}, "This field is required"),
    "a broken sensor": ({"shown_1": "140"}, "Write a number from 0 to 100"),
    "a jar in the freezer": ({"celsius": "-4"}, "Write a number from 0 to 50"),
    "half a second jar": ({"salt_2": "MgCl2"}, "What did it show over the second salt?"),
    "the other half": ({"shown_2": "33"}, "Which salt was in the second jar?"),
    "jars mixed up": ({"salt_2": "MgCl2", "shown_2": "80"}, "Were the jars mixed up?"),
    "potash too warm": ({"salt_1": "K2CO3", "celsius": "35"}, "hold from 0 to 30 °C"),
    "tomorrow": ({"since": "2026-12-05T09:00"}, "This lies in the future"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_test_that_cannot_be_right_is_refused_and_what_was_typed_stays(keeper_client, made, name):
    values, sentence = REFUSED[name]
    answer = calibrated(keeper_client, made, keep="1", note="typed", **values)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'value="typed"' in answer.content.decode()
    assert Calibration.objects.count() == 0


def test_a_test_is_taken_away_or_undone(keeper_client, made):
    calibrated(keeper_client, made, keep="1", once="first")
    receipts.undo(Receipt.objects.get(key="first"))
    assert Calibration.objects.count() == 0
    calibrated(keeper_client, made, keep="1")
    row = Calibration.objects.get()
    keeper_client.post(reverse("husbandry:calibration-delete", args=[made.pk, row.pk]))
    assert Calibration.objects.count() == 0


def test_the_guide_warns_and_defers(keeper_client, made):
    text = page(keeper_client, "calibrate", made.pk)
    for word in ("Gloves and goggles", "poison centre or a doctor", "75.4 ± 0.1", "Eight hours at least"):
        assert word in text


def note(client, made, **values):
    return client.post(reverse("husbandry:reading-new", args=[made.pk]), values)


def test_a_helper_notes_a_reading_by_hand_and_it_can_be_taken_back(helper_client, made):
    assert note(helper_client, made, celsius="24.5", humidity="61", once="k").status_code == 302
    assert note(helper_client, made, celsius="24.5", humidity="61", once="k").status_code == 302
    assert list(Reading.objects.values_list("celsius", "humidity")) == [(2450, 6100)]
    assert SensorState.objects.get().humidity == 6100
    assert Receipt.objects.get(key="k").label == "Reading of Sensor a"
    receipts.undo(Receipt.objects.get(key="k"))
    assert not Reading.objects.exists()
    assert not ReadingBatch.objects.exists()
    assert not SensorState.objects.exists()


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"humidity": "140"}, "between 0 and 100 %"),
        ({"celsius": "-80"}, "more than a sensor can measure"),
        ({}, "needs a temperature or a humidity"),
        ({"celsius": "20", "at": "2026-12-05T09:00"}, "lies in the future"),
        ({"celsius": "20", "at": "2001-01-01T09:00"}, "before 2010"),
    ],
)
def test_an_impossible_reading_by_hand_is_refused(keeper_client, made, values, sentence):
    answer = note(keeper_client, made, **values)
    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)
    assert not Reading.objects.exists()


def test_a_new_sensor_gets_its_name_in_messages_and_its_place(keeper_client, room):
    sent = {"name": "Rack A, top", "place": room.pk, "spot": "air", "every_minutes": 10, "overdue_minutes": 60}
    sent |= {"patience_minutes": 30, "lights_on": 8, "lights_off": 20, "night_drop": 3}
    assert keeper_client.post(reverse("husbandry:sensor-new"), sent).status_code == 302
    made = Sensor.objects.get()
    assert (made.key, made.postings.get().place) == ("rack-a-top", room)
    again = keeper_client.post(reverse("husbandry:sensor-new"), sent | {"name": "Rack A top"})
    assert "Another sensor has this name in messages" in again.content.decode()
    odd = keeper_client.post(
        reverse("husbandry:sensor-new"), sent | {"name": "B", "overdue_minutes": 5, "lights_off": 7}
    )
    assert "silent before its next reading" in odd.content.decode()
    assert "The day ends after it begins" in odd.content.decode()


def test_it_hangs_in_one_thing_and_no_unknown_box(keeper_client, room, made):
    box = make.EnclosureFactory(code="E-9")
    address = reverse("husbandry:sensor-hang", args=[made.pk])
    both = keeper_client.post(address, {"place": room.pk, "enclosure": "E-9", "spot": "air"})
    assert "clear the other" in both.content.decode()
    assert "No enclosure is called" in keeper_client.post(address, {"enclosure": "X", "spot": "air"}).content.decode()
    assert keeper_client.post(address, {"enclosure": "e-9", "spot": "substrate"}).status_code == 302
    assert made.postings.first().enclosure == box


def test_a_token_is_shown_once_works_and_is_revoked(keeper_client, made):
    address = reverse("husbandry:device-list")
    answer = keeper_client.post(address, {"name": "hub", "once": "k"})
    token = re.search(r'class="token">([\w-]+)<', answer.content.decode())[1]
    assert "no-store" in answer["Cache-Control"]
    assert keeper_client.post(address, {"name": "hub", "once": "k"}).status_code == 302
    assert token not in keeper_client.get(address).content.decode()
    assert send(token, {"sensor": "a", "temperature": 24}).status_code == 200
    assert "There is a device of this name already" in keeper_client.post(address, {"name": "HUB"}).content.decode()
    keeper_client.post(reverse("husbandry:device-revoke", args=[Device.objects.get().pk]))
    assert devices.known_by(token) is None
    assert send(token, {"sensor": "a", "temperature": 24}).status_code == 401
    assert "revoked 2026-12-04" in page(keeper_client, "device-list")


def test_empty_pages_teach(keeper_client, room):
    assert "Add the first sensor" in page(keeper_client, "sensor-list")
    assert "Add a sensor" in page(keeper_client, "place-climate", room.pk)


def test_a_sensor_keeps_its_revoked_device_when_it_is_changed(made):
    made.device = Device.objects.create(name="hub", revoked_at=timezone.now())
    made.save()
    assert made.device in SensorForm(instance=made).fields["device"].queryset
    assert made.device not in SensorForm().fields["device"].queryset


def test_a_sensor_is_not_retired_before_its_day(made):
    form = SensorForm({"name": "a", "retired_on": make.TODAY + timedelta(days=1)}, instance=made)
    assert "future" in form.errors["retired_on"][0]
