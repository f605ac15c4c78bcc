"""The bytes of a calendar, as RFC 5545 wants them; judged by two readers that we did not write."""

from datetime import UTC, date, datetime

import pytest
import vobject
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from config.calendars.text import Entry, write

AT = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
ANY_TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=300)


def entry(**values) -> Entry:
    usual = {"uid": "a@scopula", "day": date(2026, 3, 5), "summary": "Feeds: B-001", "details": "", "category": "Feeds"}
    return Entry(**{**usual, "sequence": 0, "changed_at": AT, **values})


def lines(*entries: Entry) -> list[bytes]:
    return write("Scopula", entries).split(b"\r\n")


def test_an_all_day_entry_ends_on_the_next_day():
    # RFC 5545, 3.6.1: DTEND is the first day after; 3.3.4: dates carry VALUE=DATE.
    found = lines(entry())
    assert b"DTSTART;VALUE=DATE:20260305" in found
    assert b"DTEND;VALUE=DATE:20260306" in found


def test_the_end_of_a_year_and_a_leap_day_are_no_edge():
    assert b"DTEND;VALUE=DATE:20270101" in lines(entry(day=date(2026, 12, 31)))
    assert b"DTEND;VALUE=DATE:20280229" in lines(entry(day=date(2028, 2, 28)))


def test_every_entry_has_an_id_a_stamp_in_utc_and_a_sequence():
    found = lines(entry(sequence=3))
    for wanted in (b"UID:a@scopula", b"DTSTAMP:20260301T093000Z", b"SEQUENCE:3", b"STATUS:CONFIRMED"):
        assert wanted in found


def test_what_is_done_is_cancelled():
    assert b"STATUS:CANCELLED" in lines(entry(cancelled=True))


def test_commas_semicolons_backslashes_and_line_ends_are_escaped():
    # RFC 5545, 3.3.11
    assert b"SUMMARY:a\\, b\\; c\\\\ d" in lines(entry(summary="a, b; c\\ d"))
    assert b"DESCRIPTION:one\\ntwo" in lines(entry(details="one\ntwo"))


@given(summary=ANY_TEXT, details=ANY_TEXT)
def test_no_line_is_longer_than_75_octets_and_every_line_ends_in_crlf(summary, details):
    body = write("Scopula", [entry(summary=summary, details=details)])
    assert body.endswith(b"\r\n")
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    assert b"\n" not in body.replace(b"\r\n", b"")
    body.decode("utf-8")


@given(summary=ANY_TEXT, details=ANY_TEXT)
def test_what_was_written_is_read_back(summary, details):
    event = Calendar.from_ical(write("Scopula", [entry(summary=summary, details=details)])).walk("VEVENT")[0]
    assert (str(event["summary"]), str(event["description"])) == (summary, details)


def test_a_strict_reader_finds_nothing_missing():
    calendar = vobject.readOne(write("Scopula", [entry(), entry(uid="b@scopula", details="x" * 200)]).decode())
    assert calendar.validate(raiseException=True)
    assert len(calendar.vevent_list) == 2


def test_an_empty_calendar_is_one_too():
    assert Calendar.from_ical(write("Scopula", [])).walk("VEVENT") == []


def test_the_place_where_the_work_is_done_is_named_where_it_is_known():
    assert b"URL:http://rack.local:8000/" in write("Scopula", [entry()], "http://rack.local:8000/").split(b"\r\n")


def test_an_instant_without_its_zone_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        write("Scopula", [entry(changed_at=AT.replace(tzinfo=None))])
