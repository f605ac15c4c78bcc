"""Meetings logged on the phone while they happen: how taps become a meeting, each exactly once."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import IntegrityError, transaction
from django.utils import timezone

from breeding import livelog, services
from breeding.livelog import Record, Seen, Tapped
from breeding.models import Meeting, MeetingTap, Pairing
from collection import receipts
from collection.services import Refused, remove
from collection.stages import Group
from husbandry import parcels
from husbandry.climate_services.moments import ClimateAt, climate_at
from husbandry.parcels import Answer, Clock
from husbandry.services import enclosure_of

RUNS_FOR = timedelta(hours=24)  # a meeting begun longer ago and not ended is no longer gone on with
LONGEST_AWAY = timedelta(days=14)  # so long a phone may keep its taps

User = AbstractBaseUser | AnonymousUser


def pair_of(pairing: Pairing) -> str:
    """Who they are, sent with every tap: a restored backup may number pairings anew."""
    return f"{pairing.female_id}x{pairing.male_id or 0}"


def running(pairing: Pairing) -> list[MeetingTap]:
    """The taps of the meeting of these two that is on now; none when there is none."""
    since = timezone.now() - RUNS_FOR
    begun = pairing.taps.filter(kind=MeetingTap.Kind.BEGIN.value, undone_by=None, at__gte=since).order_by("-at").first()
    if begun is None:
        return []
    taps = list(pairing.taps.filter(sitting=begun.sitting).exclude(kind=MeetingTap.Kind.UNDO.value))
    live = [tap for tap in taps if tap.undone_by_id is None]
    return [] if any(tap.kind == MeetingTap.Kind.END.value for tap in live) else live


def take_in(pairing: Pairing, parcel: Iterable[Any], sent_at: Any, user: User) -> Answer:
    """Take in a parcel of taps in the order they were made; each in a transaction of its own."""
    received = timezone.now()
    return parcels.take_each(parcel, lambda raw: _once(pairing, raw, sent_at, received, user))


def _once(pairing: Pairing, raw: Any, sent_at: Any, received: datetime, user: User) -> None:
    """Write a tap, unless it is here already. Two parcels may bring it at one moment: the database lets one through."""
    tap = read(pairing, raw, sent_at, received)
    try:
        with transaction.atomic():
            if not MeetingTap.objects.filter(key=tap.key).exists():
                _take(tap, user)
    except IntegrityError:
        if not MeetingTap.objects.filter(key=tap.key).exists():
            raise


def read(pairing: Pairing, raw: Any, sent_at: Any, received: datetime) -> MeetingTap:
    """Check one tap; raises `Refused`."""
    key = parcels.key_of(raw)
    if raw.get("pair") != pair_of(pairing):
        raise Refused("This pairing is not on record here. Load the page anew.")
    kind, ending = raw.get("kind"), raw.get("ending") or ""
    if kind not in MeetingTap.Kind.values:
        raise Refused("This kind of tap is not known here. Load the page anew.")
    if (kind == MeetingTap.Kind.END.value) != (ending in Meeting.Ending.values):
        raise Refused("Say how the meeting ended.")
    since = parcels.moment(raw.get("since")) or received
    clock: Clock = parcels.clock_since(min(max(since, received - LONGEST_AWAY), received), sent_at, received)
    return MeetingTap(
        key=key,
        pairing=pairing,
        sitting=_id(raw.get("sitting"), "It is not said which meeting this belongs to."),
        kind=kind,
        ending=ending if kind == MeetingTap.Kind.END.value else "",
        undoes=_id(raw.get("undoes"), "It is not said which tap to undo.")
        if kind == MeetingTap.Kind.UNDO.value
        else None,
        at=parcels.house_time(raw, clock),
        received_at=received,
    )


def _id(value: Any, why: str) -> uuid.UUID:
    try:
        return uuid.UUID(str(value))
    except ValueError:
        raise Refused(why) from None


def _take(tap: MeetingTap, user: User) -> None:
    """Store a tap and write the meeting anew where it has ended; a meeting mended by hand since is left alone."""
    before = _record(tap)
    meeting = Meeting.objects.filter(taps__sitting=tap.sitting, taps__pairing=tap.pairing).first()
    if meeting is not None and before is not None and not _as_tapped(meeting, before):
        raise Refused("This meeting was corrected on its own page since; mend it there.")
    _undo_links(tap)
    after = _record(tap)
    if after == before or (before is not None and meeting is None):  # nothing new, or the meeting was taken back
        return
    _write(tap, meeting, after, user)


def _undo_links(tap: MeetingTap) -> None:
    """Save the tap, and tie it to the undo, whichever of the two came first."""
    own = MeetingTap.objects.filter(pairing=tap.pairing, sitting=tap.sitting)
    if tap.undoes is not None:
        if own.filter(key=tap.undoes, kind=MeetingTap.Kind.UNDO.value).exists():
            raise Refused("An undo is not undone; tap again what was seen.")
        tap.save()
        own.filter(key=tap.undoes, undone_by=None).update(undone_by=tap)
    else:
        tap.undone_by = own.filter(kind=MeetingTap.Kind.UNDO.value, undoes=tap.key, undid=None).first()
        tap.save()


def _record(tap: MeetingTap) -> Record | None:
    """The meeting by the taps that the house has."""
    taps = MeetingTap.objects.filter(pairing=tap.pairing, sitting=tap.sitting, undone_by=None)
    counting = taps.exclude(kind=MeetingTap.Kind.UNDO.value)
    group = Group(tap.pairing.female.taxon.group)
    return livelog.record([Tapped(Seen(one.kind), one.at, one.ending) for one in counting], group)


def _as_tapped(meeting: Meeting, told: Record) -> bool:
    made = Meeting()
    _fill(made, told)
    return all(getattr(meeting, name) == getattr(made, name) for name in WRITTEN)


WRITTEN = (
    "earliest", "latest", "begins_at", "ends_at", "drumming", "insertions_left", "insertions_right", "ending", "note",
)  # fmt: skip


def _fill(meeting: Meeting, told: Record) -> None:
    begins, ends = timezone.localtime(told.begins), timezone.localtime(told.ends)
    meeting.earliest = meeting.latest = begins.date()
    meeting.begins_at = begins.time().replace(microsecond=0)
    meeting.ends_at = ends.time().replace(microsecond=0)
    meeting.drumming, meeting.ending, meeting.note = told.drumming, told.ending, told.note
    meeting.insertions_left, meeting.insertions_right = told.left, told.right


def _write(tap: MeetingTap, meeting: Meeting | None, told: Record | None, user: User) -> None:
    """Make, change or take away the meeting, with a receipt under the key of the tap that did it."""
    pairing = tap.pairing
    with receipts.leaving(tap.key.hex, user, pairing.get_absolute_url()):
        if told is None:
            if meeting is not None:
                remove(meeting, services.animals_of(pairing), f"Not ended after all: meeting of {pairing}")
            return
        meeting = meeting or Meeting(pairing=pairing)
        _fill(meeting, told)
        climate = climate_of(pairing, told.begins)
        if climate is not None:
            meeting.celsius, meeting.humidity = climate.celsius, climate.humidity
        services.record_meeting(meeting)
    MeetingTap.objects.filter(pairing=pairing, sitting=tap.sitting).update(meeting=meeting)


def climate_of(pairing: Pairing, instant: datetime) -> ClimateAt | None:
    """What a sensor measured where she lives, at that moment."""
    enclosure = enclosure_of(pairing.female)
    return climate_at(enclosure, instant) if enclosure is not None else None
