"""Devices send readings: kept once, refused with a reason, counted, whatever comes."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from husbandry.climate_services import devices, flood
from husbandry.models import Reading, Refusal
from husbandry.views import readings as views
from tests import factories as make
from tests.husbandry.sensors import NOW, hub, send, sensor

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


@pytest.fixture(autouse=True)
def hands(monkeypatch):
    """The hands of the sluice's clock, in seconds: they move when a test moves them."""
    hands = [0.0]
    monkeypatch.setattr(views, "sluice", flood.Sluice(lambda: hands[0]))
    return hands


@pytest.fixture
def token():
    return hub()[1]


def rows():
    return list(Reading.objects.values_list("sensor__key", "at", "celsius", "humidity"))


def counted():
    return {(row.sensor.key if row.sensor else "", row.reason): row.count for row in Refusal.objects.all()}


def test_one_reading_or_a_list_of_them(token):
    sensor("rack-a"), sensor("rack-b")
    one = {"sensor": "rack-a", "at": NOW - 600, "temperature": 24.53, "humidity": 61}
    assert send(token, one).json() == {"stored": 1, "repeated": 0, "refused": 0, "reasons": []}
    many = [{"sensor": "rack-b", "at": NOW - 60 * n, "value": 24.5, "unit": "C"} for n in range(1, 4)]
    assert send(token, many).json()["stored"] == 3
    assert rows()[0] == ("rack-a", NOW - 600, 2453, 6100)
    assert len(rows()) == 4


def test_the_same_message_twice_is_one_reading(token):
    sensor()
    message = {"sensor": "rack-a", "at": NOW - 600, "temperature": 24.5}
    send(token, message)
    answer = send(token, message)
    assert (answer.status_code, answer.json()["repeated"]) == (200, 1)
    assert len(rows()) == 1


def test_temperature_and_humidity_may_come_apart_in_either_order(token):
    sensor()
    send(token, {"sensor": "rack-a", "at": NOW - 600, "value": 61, "unit": "%"})
    send(token, {"sensor": "rack-a", "at": NOW - 598, "value": 24.5, "unit": "C"})
    assert rows() == [("rack-a", NOW - 600, 2450, 6100)]


def test_the_impossible_is_refused_and_counted_and_the_rest_is_kept(token):
    sensor()
    sent = [
        {"humidity": 140},
        {"temperature": -80},
        {"temperature": 20, "at": 0},
        {"temperature": 20, "at": NOW + 9999},
    ]
    good = {"sensor": "rack-a", "at": NOW - 60, "temperature": 22}
    answer = send(token, [{"sensor": "rack-a", **values} for values in sent] + [good])
    assert answer.status_code == 200
    assert [one["reason"] for one in answer.json()["reasons"]] == ["humidity", "temperature", "past", "future"]
    assert rows() == [("rack-a", NOW - 60, 2200, None)]
    expected = {("rack-a", reason): 1 for reason in ("humidity", "temperature", "past", "future")}
    assert counted() == expected
    send(token, {"sensor": "rack-a", "humidity": 140})
    assert counted() == expected | {("rack-a", "humidity"): 2}


def test_a_message_of_which_nothing_can_be_kept_says_so_by_its_status(token):
    assert send(token, {"sensor": "nobody", "temperature": 20}).status_code == 422
    assert "add it under Climate" in send(token, {"sensor": "nobody", "temperature": 20}).json()["reasons"][0]["says"]
    assert counted() == {("", "sensor"): 2}


def test_a_flood_of_ten_thousand_in_one_second_keeps_one(token):
    sensor()
    answer = send(token, [{"sensor": "rack-a", "at": NOW - 60, "temperature": 20 + n / 1000} for n in range(10_000)])
    assert answer.json()["stored"] + answer.json()["repeated"] + answer.json()["refused"] == 10_000
    assert len(rows()) == 1
    assert Refusal.objects.count() == 1


def test_a_flood_of_messages_is_turned_away_without_a_write_each(token):
    sensor()
    statuses, questions = [], []
    for n in range(flood.BURST + 50):
        with CaptureQueriesContext(connection) as queries:
            statuses.append(send(token, {"sensor": "rack-a", "at": NOW - 20 * n, "temperature": 20}).status_code)
        questions.append(len(queries))
    assert statuses.count(200) == flood.BURST
    assert statuses[-1] == 429
    assert questions[-1] == 1  # whose token it is, and nothing else
    assert len(rows()) == flood.BURST


def test_a_flood_is_counted_to_the_last_one_and_leave_comes_back_with_time(token, hands):
    sensor()
    for n in range(flood.BURST + 30):
        send(token, {"sensor": "rack-a", "at": NOW - 20 * n, "temperature": 20})
    assert counted() == {("", "flood"): 1}  # the others wait in memory for the next second
    views.sluice.left[str(devices.known_by(token).pk)] = (0.0, 2.0)
    hands[0] = 2.0
    send(token, {"sensor": "rack-a", "temperature": 20})
    assert counted() == {("", "flood"): 31}
    hands[0] = 3.0
    assert send(token, {"sensor": "rack-a", "at": NOW - 9999, "temperature": 20}).status_code == 200


def test_fifty_megabytes_are_refused_before_they_are_read(token):
    answer = Client().post(
        "/api/readings",
        b"[]",
        content_type="application/json",
        HTTP_AUTHORIZATION=f"Bearer {token}",
        CONTENT_LENGTH=str(50 * 1024 * 1024),
    )
    assert answer.status_code == 413
    assert counted() == {("", "too_large"): 1}


def test_more_than_a_message_may_hold_is_refused_beyond_that(token):
    sensor()
    sent = [{"sensor": "rack-a", "at": NOW - 20 * n, "temperature": 20} for n in range(10_003)]
    answer = send(token, sent).json()
    assert (answer["stored"], answer["refused"]) == (10_000, 3)


@pytest.mark.parametrize("body", ["", "{", "[" * 100_000, "\x00"])
def test_what_is_no_json_is_refused_and_counted(token, body):
    assert send(token, body).status_code == 400
    assert counted() == {("", "shape"): 1}


@pytest.mark.parametrize("content", [1, None, [[]], [None], {"sensor": {}}])
def test_json_that_is_no_reading_is_refused_and_counted(token, content):
    assert send(token, content).status_code == 422
    assert sum(counted().values()) == 1


def test_without_a_token_of_this_house_nothing_is_taken(token):
    sensor()
    message = {"sensor": "rack-a", "temperature": 20}
    for headers in ({}, {"HTTP_AUTHORIZATION": "Bearer wrong"}, {"HTTP_AUTHORIZATION": f"Basic {token}"}):
        answer = send("", message, **headers)
        assert (answer.status_code, "token" in answer.json()["error"]) == (401, True)
    assert rows() == []


def test_a_revoked_token_is_nobodys(token):
    sensor()
    devices.revoke(devices.known_by(token))
    assert send(token, {"sensor": "rack-a", "temperature": 20}).status_code == 401


def test_a_token_in_the_address_counts_only_for_devices_that_cannot_do_otherwise():
    sensor()
    _, strict = hub("strict")
    _, simple = hub("simple", by_query=True)
    answers = [
        Client().post(f"/api/readings?token={token}", {"sensor": "rack-a", "temperature": 20}, "application/json")
        for token in (strict, simple)
    ]
    assert [answer.status_code for answer in answers] == [401, 200]


def test_a_device_sends_for_its_own_sensors_and_for_those_of_nobody():
    mine, token = hub()
    other, _ = hub("other")
    sensor("mine", device=mine), sensor("free"), sensor("theirs", device=other)
    answer = send(token, [{"sensor": key, "temperature": 20} for key in ("mine", "free", "theirs")]).json()
    assert (answer["stored"], [one["reason"] for one in answer["reasons"]]) == (2, ["not_yours"])


def test_a_retired_sensor_sends_no_more(token):
    sensor(retired_on=make.TODAY)
    assert send(token, {"sensor": "rack-a", "temperature": 20}).status_code == 422


def test_of_a_token_only_the_hash_is_kept(token):
    stored = [str(value) for value in devices.known_by(token).__dict__.values()]
    assert not any(token in value for value in stored)
    assert devices.known_by("") is None


def test_the_address_takes_only_posts(keeper_client):
    assert keeper_client.get("/api/readings").status_code == 405


def test_more_readings_are_not_more_questions(token):
    sensor()

    def questions(first, number):
        sent = [{"sensor": "rack-a", "at": NOW - 20 * n, "temperature": 20} for n in range(first, first + number)]
        with CaptureQueriesContext(connection) as queries:
            send(token, sent)
        return len(queries)

    assert questions(0, 3) >= questions(3, 300)


def test_the_table_of_readings_is_its_own_index_and_sound_on_sqlite():
    """With its key behind other columns, quick_check of SQLite 3.40 calls it damaged, and no backup is made."""
    Reading.objects.create(sensor=sensor(), at=NOW, celsius=2400)
    with connection.cursor() as cursor:
        cursor.execute("SELECT sql FROM sqlite_master WHERE name = 'husbandry_reading'")
        assert cursor.fetchone()[0].endswith("WITHOUT ROWID")
        cursor.execute("PRAGMA quick_check(1)")
        assert cursor.fetchone()[0] == "ok"


@pytest.mark.parametrize("name", ["\\ud800", "rack\\u0000a", "\\ud83d"])
def test_a_name_that_no_database_takes_is_refused(token, name):
    answer = send(token, f'[{{"sensor": "{name}", "temperature": 20}}, {{"sensor": "{name}", "humidity": 140}}]')
    assert answer.status_code == 422
    assert [one["reason"] for one in answer.json()["reasons"]] == ["sensor", "sensor"]


def test_more_refused_readings_are_not_more_questions(token):
    sensor()
    bad = {"sensor": "rack-a", "humidity": 140}
    send(token, bad)
    with CaptureQueriesContext(connection) as few:
        send(token, [bad] * 2)
    with CaptureQueriesContext(connection) as many:
        send(token, [bad] * 40)
    assert len(many) == len(few)
