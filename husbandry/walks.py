"""The rack walk: which stops, what each card says, and how taps become records, each exactly once."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db import transaction
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from collection.models import Note, Specimen
from collection.rights import is_keeper
from collection.services import Refused, refuse_after_end, remove, write
from husbandry import services
from husbandry.models import Enclosure, Feeding, Tap, Upkeep, Walk

HELPER_UNDO = timedelta(minutes=10)
LONGEST_TEXT = 2000
DETAILS = ("prey", "mm", "number", "reason", "text", "undoes", "on_hold")
NOT_OFFERED = {
    "premolt": "premolt",
    "molted": "fresh molt",
    "sac": "with a sac",
    "full": "fat enough",
    "unseen": "not seen",
    "no_food": "no food left",
    "held": "on hold",
    "other": "another reason",
}


@dataclass(frozen=True)
class Incoming:
    """A tap as it came, checked: what the phone said, with the time by the house's clock."""

    key: uuid.UUID
    kind: str
    enclosure: int | None
    specimen: int | None
    happened_at: datetime
    detail: dict[str, Any]


@dataclass
class Answer:
    """What became of each tap of a parcel, by key."""

    saved: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)


def read_tap(raw: Any, clock_ahead: timedelta) -> Incoming:
    """Check one tap of a parcel; raises `Refused`. `clock_ahead` is how far the phone's clock leads the house's."""
    if not isinstance(raw, dict):
        raise Refused("This is not a tap.")
    try:
        key = uuid.UUID(str(raw.get("key")))
    except ValueError:
        raise Refused("The tap has no proper key.") from None
    kind = raw.get("kind")
    if kind not in Tap.Kind.values:
        raise Refused("This kind of tap is not known here. Load the page anew.")
    happened = parse_datetime(str(raw.get("at"))) if raw.get("at") else None
    if happened is None or timezone.is_naive(happened):
        raise Refused("The tap has no proper time.")
    detail = {name: raw[name] for name in DETAILS if name in raw}
    return Incoming(key, kind, _id(raw.get("enclosure")), _id(raw.get("specimen")), happened - clock_ahead, detail)


def _id(value: Any) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 < value < 2**63 else None


def clock_lead(sent_at: Any, received_at: datetime) -> timedelta:
    """How far the phone's clock is ahead of the house's; a missing or odd time means none."""
    sent = parse_datetime(sent_at) if isinstance(sent_at, str) else None
    if sent is None or timezone.is_naive(sent):
        return timedelta()
    return sent - received_at


def take_in(walk: Walk, parcel: Iterable[Any], sent_at: Any, user: AbstractBaseUser | AnonymousUser) -> Answer:
    """Take in a parcel of taps in the order they were made; each in a transaction of its own."""
    received = timezone.now()
    lead = clock_lead(sent_at, received)
    answer = Answer()
    for raw in parcel:
        name = str(raw.get("key", "")) if isinstance(raw, dict) else ""
        try:
            with transaction.atomic():
                _take(walk, read_tap(raw, lead), received, user)
        except Refused as refusal:
            answer.refused[name] = str(refusal)
        else:
            answer.saved.append(name)
    return answer


def _take(walk: Walk, tap: Incoming, received: datetime, user: AbstractBaseUser | AnonymousUser) -> None:
    """Write one tap; a key that is here already is answered as saved and written no second time."""
    if Tap.objects.filter(key=tap.key).exists():
        return
    if tap.happened_at > received + timedelta(minutes=1):
        raise Refused("This tap lies in the future.")
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
    undone = WRITERS[tap.kind](row, user)
    row.save()
    if undone is not None:
        undone.undone_by = row
        undone.save(update_fields=["undone_by"])


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
        prey=str(row.detail.get("prey", ""))[:40],
        prey_mm=_positive(row.detail.get("mm")),
        number=int(_positive(row.detail.get("number")) or 1),
        key=row.key,
    )
    row.feeding = services.record_feeding(feeding)


def _positive(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 < value < 1000:
        return None
    return float(value)


def _not_offered(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    refuse_after_end(_animal(row), timezone.localtime(row.happened_at).date())
    if row.detail.get("reason") not in NOT_OFFERED:
        raise Refused("Say why it was not offered.")


def _water(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    if row.enclosure is None:
        raise Refused("This enclosure is not on record here.")
    day = timezone.localtime(row.happened_at).date()
    row.upkeep = services.record_upkeep(Upkeep(enclosure=row.enclosure, kind=Upkeep.Kind.WATER.value, on=day))


def _note(row: Tap, user: AbstractBaseUser | AnonymousUser) -> None:
    animal = _animal(row)
    text = str(row.detail.get("text", "")).strip()[:LONGEST_TEXT]
    if not text:
        raise Refused("The note is empty.")
    day = timezone.localtime(row.happened_at).date()
    row.note = Note(specimen=animal, earliest=day, latest=day, text=text)
    write(row.note, [animal], f"Note on {animal.code}")


def _undo(row: Tap, user: AbstractBaseUser | AnonymousUser) -> Tap | None:
    """Take back what an earlier tap of this walk wrote; its history stays."""
    try:
        key = uuid.UUID(str(row.detail.get("undoes")))
    except ValueError:
        raise Refused("It is not said which tap to undo.") from None
    earlier = Tap.objects.select_related("feeding", "upkeep", "note", "walk").filter(key=key).first()
    if earlier is None or earlier.undone_by_id is not None:
        return None  # it was refused, or is undone already: there is nothing left to take back
    if earlier.walk_id != row.walk_id:
        raise Refused("That tap belongs to another walk.")
    if not is_keeper(user) and row.happened_at - earlier.happened_at > HELPER_UNDO:
        raise Refused("A helper can undo for ten minutes. Leave a note for the keeper instead.")
    for record in (earlier.feeding, earlier.upkeep, earlier.note):
        if record is not None:
            animals = list(Specimen.objects.filter(pk=earlier.specimen_id or 0)) or _residents(earlier)
            remove(record, animals, f"Undone: {earlier}")
    row.specimen, row.enclosure = earlier.specimen, earlier.enclosure
    return earlier


def _residents(tap: Tap) -> list[Specimen]:
    return list(Specimen.objects.filter(stays__enclosure=tap.enclosure_id, stays__ends__isnull=True))


WRITERS: dict[str, Any] = {
    Tap.Kind.TAKEN.value: _feed,
    Tap.Kind.REFUSED.value: _feed,
    Tap.Kind.NOT_OFFERED.value: _not_offered,
    Tap.Kind.WATER.value: _water,
    Tap.Kind.NOTE.value: _note,
    Tap.Kind.UNDO.value: _undo,
}


@dataclass(frozen=True)
class Summary:
    """What a walk came to."""

    counts: dict[str, int]
    used: list[tuple[str, int]]
    left_out: int
    minutes: int


def summary(walk: Walk, stops: int) -> Summary:
    """Counts by kind, feeders used, and how many stops had no tap."""
    taps = list(walk.taps.filter(undone_by__isnull=True).exclude(kind=Tap.Kind.UNDO.value))
    used: Counter[str] = Counter()
    for tap in taps:
        if tap.kind == Tap.Kind.TAKEN.value and tap.feeding_id:
            size = tap.detail.get("mm")
            name = str(tap.detail.get("prey") or "prey not named") + (f", {size:g} mm" if size else "")
            used[name] += int(tap.detail.get("number") or 1)
    seen = {tap.enclosure_id for tap in taps if tap.enclosure_id}
    ended = walk.ended_at or (taps[-1].happened_at if taps else walk.started_at)
    return Summary(
        counts=dict(Counter(tap.kind for tap in taps)),
        used=used.most_common(),
        left_out=max(stops - len(seen), 0),
        minutes=max(round((ended - walk.started_at).total_seconds() / 60), 0),
    )
