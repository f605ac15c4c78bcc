"""Writes the calendar (RFC 5545): pure, from plain values to bytes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

PRODUCT = "-//Scopula//What is due//EN"
AGAIN = timedelta(hours=1)  # how soon a calendar should ask again


@dataclass(frozen=True)
class Entry:
    """One whole day with something due: `changed_at` is an aware instant, `sequence` rises with every change."""

    uid: str
    day: date
    summary: str
    details: str
    category: str
    sequence: int
    changed_at: datetime
    cancelled: bool = False


def write(name: str, entries: Iterable[Entry], url: str = "") -> bytes:
    """The calendar: UTF-8, CRLF, lines of at most 75 octets, each entry a whole day that blocks no time.

    `url` is where the work is done, when the house has a lasting address. Raises ValueError for a naive instant.
    Source: RFC 5545, sections 3.1, 3.3.4, 3.3.11, 3.6.1 and 3.8; RFC 7986 for the refresh interval.
    """
    from icalendar import Calendar  # only here: a page that writes none does not load it

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", AGAIN, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    for entry in entries:
        calendar.add_component(_event(entry, url))
    return bytes(calendar.to_ical())


def _event(entry: Entry, url: str):  # type: ignore[no-untyped-def]  # icalendar is named only where it is loaded
    from icalendar import Event

    if entry.changed_at.tzinfo is None:
        raise ValueError("The instant of the last change needs a time zone.")
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.changed_at)
    event.add("last-modified", entry.changed_at)
    event.add("sequence", entry.sequence)
    event.add("dtstart", entry.day)
    event.add("dtend", entry.day + timedelta(days=1))  # the end is exclusive
    event.add("summary", entry.summary)
    event.add("description", entry.details)
    event.add("categories", [entry.category])
    event.add("status", "CANCELLED" if entry.cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    if url:
        event.add("url", url)
    return event
