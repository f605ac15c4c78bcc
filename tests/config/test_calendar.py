"""What is due reaches the calendars of phones: by an address that can be revoked, and struck out when done."""

import re
from datetime import date, datetime, timedelta

import pytest
import recurring_ical_events
import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from icalendar import Calendar

from collection import attention
from config.calendars import days
from config.calendars.models import CalendarAddress, CalendarDay
from tests import factories as make

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 12, 4, 11, tzinfo=timezone.get_fixed_timezone(0))


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def animal():
    """Fed on the first of the month, so that its next feed falls into the coming weeks."""
    animal = make.SpecimenFactory(code="B-001")
    make.fed(animal, make.TODAY - timedelta(days=3))
    return animal


def address(client, key="a") -> str:
    shown = client.post("/settings/calendar/make/", {"once": key}).content.decode()
    return re.search(r'readonly value="https?://[^/]+(/calendar/\w+\.ics)"', shown)[1]


def read(client, at=None) -> list:
    return Calendar.from_ical(Client().get(at or address(client)).content).walk("VEVENT")


def test_each_day_with_feeds_is_one_whole_day_that_blocks_no_time(keeper_client, animal):
    due = animal.dues.get(kind="feed").due_on
    event = next(e for e in read(keeper_client) if str(e["summary"]).startswith("Feeds"))
    assert str(event["summary"]) == "Feeds: B-001"
    assert (event["dtstart"].dt, event["dtend"].dt) == (due, due + timedelta(days=1))
    assert event["transp"] == "TRANSPARENT"
    assert "B-001, " in event["description"]


def test_a_fed_animal_is_struck_out_under_the_same_id(keeper_client, animal):
    where = address(keeper_client)
    before = next(e for e in read(keeper_client, where) if "Feeds" in e["summary"])
    make.fed(animal, make.TODAY)
    after = {str(e["uid"]): e for e in read(keeper_client, where)}
    done = after.pop(str(before["uid"]))
    assert (done["status"], done["sequence"]) == ("CANCELLED", before["sequence"] + 1)
    assert [e["status"] for e in after.values() if "Feeds" in e["summary"]] == ["CONFIRMED"]


def test_an_entry_whose_work_comes_back_stands_again_under_its_id(keeper_client, animal):
    where = address(keeper_client)
    uid = next(str(e["uid"]) for e in read(keeper_client, where) if "Feeds" in e["summary"])
    meal = make.fed(animal, make.TODAY)
    read(keeper_client, where)
    meal.delete()
    make.dues.refresh([animal.pk])
    again = next(e for e in read(keeper_client, where) if str(e["uid"]) == uid)
    assert (again["status"], again["sequence"]) == ("CONFIRMED", 2)


def test_asking_again_changes_nothing_and_is_answered_without_a_body(keeper_client, animal):
    where = address(keeper_client)
    first = Client().get(where)
    rows = list(CalendarDay.objects.values())
    with time_machine.travel(NOON + timedelta(hours=3)):
        second = Client().get(where, headers={"If-None-Match": first["ETag"]})
    assert (second.status_code, second.content) == (304, b"")
    assert list(CalendarDay.objects.values()) == rows


def test_many_animals_are_counted_and_few_are_named(keeper_client):
    for n in range(65):
        make.fed(make.SpecimenFactory(code=f"B-{n:03}"), make.TODAY)
    feeds = [e for e in read(keeper_client) if "Feeds" in e["summary"]]
    assert [str(e["summary"]) for e in feeds] == ["Feeds: 65 animals"]
    assert str(feeds[0]["description"]).endswith("and 5 more, on the dashboard")


def test_more_animals_ask_no_more_of_the_database(keeper_client, django_assert_max_num_queries):
    for n in range(30):
        make.fed(make.SpecimenFactory(), make.TODAY - timedelta(days=n % 9))
    days.entries(make.TODAY, NOON)
    with django_assert_max_num_queries(3):
        days.entries(make.TODAY, NOON)


def test_what_is_older_than_a_month_is_forgotten(keeper_client, animal):
    read(keeper_client)
    old = CalendarDay.objects.create(kind="feed", day=date(2026, 1, 1), summary="Feeds: X", changed_at=NOON)
    make.fed(animal, make.TODAY)
    assert str(old.uid) not in str(read(keeper_client))
    assert not CalendarDay.objects.filter(pk=old.pk).exists()


def test_a_sentence_that_cannot_be_said_spoils_nothing(keeper_client, animal, settings):
    settings.CATCH_FAILING_SOURCES = True
    kind = attention.due_kinds["feed"]
    broken = attention.DueKind(kind.name, kind.title, kind.work_out, lambda due, today: 1 / 0, by_day=True)
    with attention.registered(broken):
        assert "could not be worked out" in str(next(e for e in read(keeper_client))["description"])


def test_another_reader_finds_the_same_days(keeper_client, animal):
    calendar = Calendar.from_ical(Client().get(address(keeper_client)).content)
    found = recurring_ical_events.of(calendar).between(make.TODAY, make.TODAY + timedelta(days=60))
    assert animal.dues.get(kind="feed").due_on in {event["dtstart"].dt for event in found}


def test_a_new_address_ends_the_old_one_and_a_form_sent_twice_does_not(keeper_client):
    first, again, second = (address(keeper_client, key) for key in ("a", "a", "b"))
    assert first == again != second
    assert Client().get(first).status_code == 404
    assert Client().get(second).status_code == 200


def test_a_revoked_address_opens_nothing(keeper_client):
    where = address(keeper_client)
    keeper_client.post("/settings/calendar/revoke/")
    assert Client().get(where).status_code == 404
    assert "no address to revoke" in keeper_client.post("/settings/calendar/revoke/", follow=True).content.decode()


def test_the_word_is_kept_only_as_a_hash(keeper_client):
    word = address(keeper_client).split("/")[2].removesuffix(".ics")
    assert len(word) * 4 >= 128
    assert word not in str(list(CalendarAddress.objects.values()))


def test_a_helper_reads_until_the_last_day_and_not_after(helper_client, helper):
    where = address(helper_client)
    assert Client().get(where).status_code == 200
    helper.helper_term.until = make.TODAY - timedelta(days=1)
    helper.helper_term.save()
    assert Client().get(where).status_code == 404


def test_somebody_shut_out_reads_nothing(helper_client, helper):
    where = address(helper_client)
    User.objects.filter(pk=helper.pk).update(is_active=False)
    assert Client().get(where).status_code == 404


def test_it_is_read_and_never_written(keeper_client):
    where = address(keeper_client)
    assert [getattr(Client(), verb)(where).status_code for verb in ("post", "put", "delete")] == [405, 405, 405]


def test_the_page_says_when_a_calendar_last_asked(keeper_client):
    assert "You have no address yet" in keeper_client.get("/settings/calendar/").content.decode()
    where = address(keeper_client)
    assert "no calendar has asked yet" in keeper_client.get("/settings/calendar/").content.decode()
    Client().get(where)
    assert "last asked on 4 December 2026" in keeper_client.get("/settings/calendar/").content.decode()
