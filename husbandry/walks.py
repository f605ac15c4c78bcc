"""The rack walk: how taps become records, each exactly once, and what a walk came to."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import IntegrityError, transaction
from django.utils import timezone

from collection.models import Note, Specimen
from collection.rights import is_keeper
from collection.services import Refused, refuse_after_end, remove, write
from husbandry import parcels, services
from husbandry.models import Enclosure, Feeding, Tap, Upkeep, Walk
from husbandry.models.care import USED
from husbandry.parcels import Answer, Clock
from husbandry.rhythm import Outcome

HELPER_UNDO = timedelta(minutes=10)
OPEN_FOR = timedelta(hours=12)  # a walk begun longer ago is no longer the one that a scanned label belongs to
LONGEST_TEXT, LONGEST_WORD = 2000, 60
SETTLED = {Tap.Kind.ATE.value: Outcome.TAKEN, Tap.Kind.REMOVED.value: Outcome.REMOVED}
NUMBERS = ("mm", "number")
DETAILS = ("prey", "reason", "text", "undoes", "work", "on_hold", *NUMBERS)


@dataclass(frozen=True)
class Incoming:
    """A tap as it came, checked: what the phone said, with the time by the house's clock."""

    key: uuid.UUID
    kind: str
    enclosure: int | None
    specimen: int | None
    happened_at: datetime
    detail: dict[str, Any]


def read_tap(raw: Any, clock: Clock) -> Incoming:
    """Check one tap of a parcel; raises `Refused`."""
    key = parcels.key_of(raw)
    kind = raw.get("kind")
    if kind not in Tap.Kind.values:
        raise Refused("This kind of tap is not known here. Load the page anew.")
    happened_at = parcels.house_time(raw, clock)
    detail = {name: _plain(raw[name], name) for name in DETAILS if name in raw}
    return Incoming(key, kind, _id(raw.get("enclosure")), _id(raw.get("specimen")), happened_at, detail)


def _id(value: Any) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 < value < 2**63 else None


def _plain(value: Any, name: str) -> Any:
    """A number, a yes, or text that every database takes: NUL and half a character are what phones cut off."""
    if name in NUMBERS:
        return _positive(value)
    if name == "on_hold":
        return bool(value)
    text = str(value or "").replace("\0", "").encode("utf-8", "replace").decode()
    return text[: LONGEST_TEXT if name == "text" else LONGEST_WORD]


def take_in(walk: Walk, parcel: Iterable[Any], sent_at: Any, user: AbstractBaseUser | AnonymousUser) -> Answer:
    """Take in a parcel of taps in the order they were made; each in a transaction of its own."""
    clock = parcels.clock_since(walk.started_at, sent_at, timezone.now())
    return parcels.take_each(parcel, lambda raw: _once(walk, read_tap(raw, clock), clock.received, user))


def _once(walk: Walk, tap: Incoming, received: datetime, user: AbstractBaseUser | AnonymousUser) -> None:
    """Write a tap, unless it is here already. Two parcels may bring it at one moment: the database lets one through."""
    try:
        with transaction.atomic():
            if not Tap.objects.filter(key=tap.key).exists():
                _take(walk, tap, received, user)
    except IntegrityError:
        if not Tap.objects.filter(key=tap.key).exists():
            raise


def _take(walk: Walk, tap: Incoming, received: datetime, user: AbstractBaseUser | AnonymousUser) -> None:
    row = Tap(
        key=tap.key,
        walk=walk,
        kind=tap.kind,
        detail=tap.detail,
        happened_at=tap.happened_at,
        received_at=received,
        specimen=_found(Specimen, tap.specimen),
        enclosure=_found(Enclosure, tap.enclosure),
    )
    row.undone_by = _undone_before(row)
    undone = WRITERS[tap.kind](row, user) if row.undone_by is None else None
    row.save()
    if undone is not None:
        Tap.objects.filter(pk=undone.pk).update(undone_by=row)


def _undone_before(row: Tap) -> Tap | None:
    """The undo that overtook this tap: it was made later and came sooner."""
    undos = Tap.objects.filter(walk=row.walk, kind=Tap.Kind.UNDO.value, undoes__isnull=True)
    return undos.filter(detail__undoes=str(row.key)).first()


def _found(model: Any, pk: int | None) -> Any:
    return model._default_manager.filter(pk=pk).first() if pk else None


def _animal(row: Tap) -> Specimen:
    if row.specimen is None:
        raise Refused("This animal is not on record here.")
    return row.specimen


def _feed(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    animal = _animal(row)
    on = timezone.localtime(row.happened_at).date()
    feeding = Feeding(
        specimen=animal,
        on=on,
        outcome=row.kind,
        prey=row.detail.get("prey", "")[:40],
        prey_mm=row.detail.get("mm"),
        number=_count(row.detail),
        key=row.key,
        logged_at=row.happened_at,  # a phone may have kept it for hours: the feeder's book goes by the moment
    )
    row.feeding = services.record_feeding(feeding)


def _settle(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    """What was left in was eaten, or is taken out."""
    left = _animal(row).feedings.first()
    if left is None or left.outcome != Outcome.LEFT.value:
        raise Refused("Nothing is on record as left in with this animal.")
    row.feeding = services.settle_left(left, SETTLED[row.kind])


def _positive(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 < value < 1000:
        return None
    return float(value)


def _count(detail: dict[str, Any]) -> int:
    return max(int(detail.get("number") or 1), 1)


def _not_offered(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    refuse_after_end(_animal(row), timezone.localtime(row.happened_at).date())
    if row.detail.get("reason") not in Tap.Reason.values:
        raise Refused("Say why it was not offered.")


def _water(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    _do(row, Upkeep.Kind.WATER.value)


def _upkeep(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    if row.detail.get("work") not in Upkeep.Kind.values:
        raise Refused("Say what was done.")
    _do(row, row.detail["work"])


def _do(row: Tap, kind: str) -> None:
    if row.enclosure is None:
        raise Refused("This enclosure is not on record here.")
    day = timezone.localtime(row.happened_at).date()
    row.upkeep = services.record_upkeep(Upkeep(enclosure=row.enclosure, kind=kind, on=day))


def _note(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    animal = _animal(row)
    text = row.detail.get("text", "").strip()
    if not text:
        raise Refused("The note is empty.")
    day = timezone.localtime(row.happened_at).date()
    row.note = Note(specimen=animal, earliest=day, latest=day, text=text, wrong=True)
    write(row.note, [animal], f"Note on {animal.code}")


def _undo(row: Tap, user: AbstractBaseUser | AnonymousUser) -> Tap | None:
    """Take back what an earlier tap of this walk wrote; its history stays."""
    try:
        key = uuid.UUID(str(row.detail.get("undoes")))
    except ValueError:
        raise Refused("It is not said which tap to undo.") from None
    row.detail["undoes"] = str(key)
    earlier = Tap.objects.select_related("feeding", "upkeep", "note", "walk").filter(key=key).first()
    if earlier is None or earlier.undone_by_id is not None:
        return None  # it was refused, is undone already, or comes later: see `_undone_before`
    if earlier.walk_id != row.walk_id:
        raise Refused("That tap belongs to another walk.")
    if earlier.kind == Tap.Kind.UNDO.value:
        raise Refused("An undo is not undone; tap again what was done.")
    if not is_keeper(user) and row.happened_at - earlier.happened_at > HELPER_UNDO:
        raise Refused("A helper can undo for ten minutes. Leave a note for the keeper instead.")
    _take_back(earlier)
    row.specimen, row.enclosure = earlier.specimen, earlier.enclosure
    return earlier


def _take_back(earlier: Tap) -> None:
    """Remove the record of a tap, unless it was taken away on its own page meanwhile. Water concerns all residents."""
    record = earlier.feeding or earlier.upkeep or earlier.note
    if record is None:
        return
    if earlier.feeding and earlier.kind in SETTLED:
        services.settle_left(earlier.feeding, Outcome.LEFT)
        return
    residents = Specimen.objects.filter(stays__enclosure=earlier.enclosure_id, stays__ends__isnull=True)
    animals = residents if earlier.upkeep else Specimen.objects.filter(pk__in=[earlier.specimen_id])
    remove(record, list(animals), f"Undone: {earlier}")


WRITERS: dict[str, Any] = {
    Tap.Kind.TAKEN.value: _feed,
    Tap.Kind.REFUSED.value: _feed,
    Tap.Kind.LEFT.value: _feed,
    Tap.Kind.ATE.value: _settle,
    Tap.Kind.REMOVED.value: _settle,
    Tap.Kind.NOT_OFFERED.value: _not_offered,
    Tap.Kind.WATER.value: _water,
    Tap.Kind.UPKEEP.value: _upkeep,
    Tap.Kind.NOTE.value: _note,
    Tap.Kind.UNDO.value: _undo,
}


@dataclass(frozen=True)
class Summary:
    """What a walk came to."""

    counts: dict[str, int]
    used: list[tuple[str, int]]
    seen: set[int]  # enclosures with a tap that was not undone
    minutes: int


def summary(walk: Walk) -> Summary:
    """Counts by kind, feeders used, and which stops had a tap."""
    taps = list(walk.taps.filter(undone_by__isnull=True).exclude(kind=Tap.Kind.UNDO.value))
    used: Counter[str] = Counter()
    for tap in taps:
        if tap.kind in USED:
            size = tap.detail.get("mm")
            name = (tap.detail.get("prey") or "prey not named") + (f", {size:g} mm" if size else "")
            used[name] += _count(tap.detail)
    last = max((tap.happened_at for tap in taps), default=walk.started_at)
    return Summary(
        counts=dict(Counter(tap.kind for tap in taps)),
        used=used.most_common(),
        seen={tap.enclosure_id for tap in taps if tap.enclosure_id},
        minutes=max(round((last - walk.started_at).total_seconds() / 60), 0),
    )


def open_walk(user: AbstractBaseUser | AnonymousUser, enclosure: int) -> Walk | None:
    """The walk this person is on, if this enclosure is one of its stops: newest first."""
    begun = Walk.objects.filter(by=user.pk, ended_at__isnull=True, started_at__gte=timezone.now() - OPEN_FOR)
    return next((walk for walk in begun if enclosure in walk.stops), None)
