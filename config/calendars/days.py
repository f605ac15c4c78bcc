"""What the calendars say: one entry a kind and day, told again when it changes and cancelled when it is done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q

from collection import attention, dues
from collection.attention import DueKind
from collection.models import Due
from config.calendars.models import CalendarDay
from config.calendars.text import Entry

BEFORE, AHEAD = timedelta(days=30), timedelta(days=60)
NAMED = 3  # so few animals are named in the line itself
LISTED = 60  # no more lines in one entry: a phone shows the rest on the dashboard

Day = tuple[str, date]
Told = tuple[str, str]


def entries(today: date, now: datetime) -> list[Entry]:
    """All entries from 30 days back to 60 ahead; writes down what changed since a calendar last asked."""
    kinds = {kind.name: kind for kind in attention.kinds()}
    told = _told(today, kinds)
    if _changes(told, today):
        with transaction.atomic():
            _write(told, today, now)
    return [
        Entry(f"{row.uid}@scopula", row.day, row.summary, row.details, kinds[row.kind].title, row.sequence,
              row.changed_at, row.cancelled)
        for row in _stored(today) if row.kind in kinds
    ]  # fmt: skip


def _stored(today: date) -> Iterable[CalendarDay]:
    return CalendarDay.objects.filter(day__gte=today - BEFORE, day__lte=today + AHEAD)


def _told(today: date, kinds: dict[str, DueKind]) -> dict[Day, Told]:
    """What each day has to say of each kind."""
    found: dict[Day, list[Due]] = defaultdict(list)
    rows = Due.objects.of(*kinds).filter(due_on__gte=today - BEFORE, due_on__lte=today + AHEAD)
    rows = rows.filter(Q(ends_on__isnull=True) | Q(ends_on__gte=today))
    for due in rows.select_related("specimen__taxon").order_by("due_on", "specimen__code"):
        assert due.due_on is not None
        found[due.kind, due.due_on].append(due)
    return {(kind, day): _say(kinds[kind], day, rows) for (kind, day), rows in found.items()}


def _say(kind: DueKind, day: date, rows: list[Due]) -> Told:
    codes = [due.specimen.code for due in rows]
    what = ", ".join(codes) if len(codes) <= NAMED else f"{len(codes)} animals"
    lines = [_line(kind, day, due) for due in rows[:LISTED]]
    if len(rows) > LISTED:
        lines.append(f"and {len(rows) - LISTED} more, on the dashboard")
    return f"{kind.title}: {what}"[:200], "\n".join(lines)


def _line(kind: DueKind, day: date, due: Due) -> str:
    """Said as on the day it falls due, so that a night's passing changes nothing."""
    said = attention.said(kind, dues.as_stored(due), day)
    return f"{due.specimen.code}, {due.specimen.taxon.name}: {said.sentence}"


def _changes(told: dict[Day, Told], today: date) -> bool:
    stored = {(row.kind, row.day): row for row in _stored(today)}
    fresh = any(key not in stored or _differs(stored[key], what) for key, what in told.items())
    return fresh or any(not row.cancelled for key, row in stored.items() if key not in told)


def _differs(row: CalendarDay, told: Told) -> bool:
    return row.cancelled or (row.summary, row.details) != told


def _write(told: dict[Day, Told], today: date, now: datetime) -> None:
    """Read again inside the transaction, so that two calendars that ask at once write one row."""
    stored = {(row.kind, row.day): row for row in _stored(today)}
    changed = []
    for key, row in stored.items():
        what = told.get(key)
        if what is not None and _differs(row, what):
            row.summary, row.details, row.cancelled = *what, False
        elif what is None and not row.cancelled:
            row.cancelled = True
        else:
            continue
        row.sequence += 1
        row.changed_at = now
        changed.append(row)
    CalendarDay.objects.bulk_update(
        changed, ["summary", "details", "cancelled", "sequence", "changed_at"], batch_size=200
    )
    new = [(kind, day, what) for (kind, day), what in told.items() if (kind, day) not in stored]
    CalendarDay.objects.bulk_create(
        [CalendarDay(kind=k, day=d, summary=what[0], details=what[1], changed_at=now) for k, d, what in new],
        batch_size=200,
    )
    CalendarDay.objects.filter(day__lt=today - BEFORE).delete()
