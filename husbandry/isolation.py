"""Which enclosures are to be kept apart, who stands beside them, and who was near: from open issues and stays."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from collection import receipts
from collection.dates import say_date
from collection.health import Found
from collection.models import HealthIssue, Quarantine, Specimen
from collection.querysets import HERE
from collection.services import Refused
from collection.wording import plural
from husbandry import exposure
from husbandry.exposure import Contact, How, Lived
from husbandry.models import Enclosure, ExposureCheck, Place, Stay

TOGETHER = ("shelf", "tray", "position")  # places whose enclosures stand close enough to count as one
LAST = "Look after it last, with tools and water of its own."

Meets = Callable[[int, date], Iterable[Contact]]
meetings: dict[str, Meets] = {}  # other ways of having met, by name; upper apps add theirs


@dataclass(frozen=True)
class Mark:
    """What is to be said of an enclosure at the rack: a word, a sentence, and how late it comes in a walk."""

    word: str
    sentence: str
    last: int  # 0 in its turn, 1 after those, 2 last of all
    issue: int | None = None


@dataclass
class Suspect:
    """An enclosure with somebody in it who has, or may have, what spreads; and what is lived in near it."""

    issue: HealthIssue
    enclosure: Enclosure
    near: dict[int, bool] = field(default_factory=dict)  # enclosures near it, and whether right beside
    living: dict[int, list[int]] = field(default_factory=dict)  # who lives in each of them


def suspects() -> list[Suspect]:
    """Enclosures to be kept apart now, with their neighbours. Two queries, or one where nothing may spread."""
    issues = HealthIssue.objects.open().contagious().select_related("specimen").order_by("earliest", "id")
    found = {issue.specimen_id: issue for issue in issues}
    if not found:
        return []
    own = Stay.objects.open().filter(specimen__in=found)
    near = Q(specimen__in=found) | Q(enclosure__place__in=own.values("enclosure__place"))
    stays = list(
        Stay.objects.open()
        .filter(near)
        .select_related("enclosure__place")
        .order_by("enclosure__position", "enclosure_id", "id")
    )
    known = [Suspect(found[stay.specimen_id], stay.enclosure) for stay in stays if stay.specimen_id in found]
    for suspect in known:
        _neighbours(suspect, stays)
    return sorted(known, key=lambda suspect: (suspect.issue.earliest, suspect.issue.pk))


def _neighbours(suspect: Suspect, stays: Sequence[Stay]) -> None:
    """What stands close: beside it, or anywhere on the same shelf or tray."""
    box, place = suspect.enclosure, suspect.enclosure.place
    if place is None:
        return
    for stay in stays:
        other = stay.enclosure
        close = 0 not in (other.position, box.position) and abs(other.position - box.position) == 1
        if other.pk != box.pk and other.place_id == place.pk and (close or place.kind in TOGETHER):
            suspect.near[other.pk] = close
            suspect.living.setdefault(other.pk, []).append(stay.specimen_id)


def marks(enclosures: Iterable[int]) -> dict[int, list[Mark]]:
    """What is to be said of these enclosures at the rack; most houses have nothing to say."""
    wanted = set(enclosures)
    found: dict[int, list[Mark]] = defaultdict(list)
    for suspect in suspects():
        issue, code = suspect.issue, suspect.issue.specimen.code
        if suspect.enclosure.pk in wanted:
            sentence = f"{str(issue).capitalize()} at {code}. {LAST}"
            found[suspect.enclosure.pk].append(Mark("keep apart", sentence, 2, issue.pk))
        for pk in suspect.near.keys() & wanted:
            where = "Stands beside" if suspect.near[pk] else "Stands near"
            sentence = f"{where} {suspect.enclosure.code} ({issue}). Look for signs; do not carry tools across."
            found[pk].append(Mark("neighbour", sentence, 0, issue.pk))
    for pk, until in _apart(wanted):
        sentence = f"In quarantine until {say_date(until)}. {LAST}"
        found[pk].append(Mark("quarantine", sentence, 1))
    return found


def _apart(wanted: set[int]) -> Iterator[tuple[int, date]]:
    kept = dict(Quarantine.objects.open().values_list("specimen_id", "until"))
    if kept:
        stays = Stay.objects.open().filter(specimen__in=kept, enclosure__in=wanted)
        for specimen, box in stays.values_list("specimen_id", "enclosure_id"):
            yield box, kept[specimen]


def in_turn(enclosures: Sequence[int]) -> list[int]:
    """The stops of a walk with quarantine after all others, and what may spread last."""
    late = {pk: max(mark.last for mark in found) for pk, found in marks(enclosures).items()}
    return sorted(enclosures, key=lambda pk: late.get(pk, 0))


def mixed(place: Place | None = None) -> list[str]:
    """Who in quarantine stands in this place or what is in it, or anywhere, among others that are not, in sentences.

    A place that is marked as one for quarantine, or that holds nobody else, is as it should be.
    """
    stays = Stay.objects.open().filter(enclosure__place__walk_key__startswith=place.walk_key if place else "")
    rows = stays.select_related("specimen", "enclosure__place__parent").order_by("enclosure__place__walk_key", "id")
    kept = set(Quarantine.objects.open().values_list("specimen_id", flat=True))
    if not kept:
        return []
    by_rack: dict[Place, list[Stay]] = defaultdict(list)
    for stay in rows:
        if stay.enclosure.place is not None:
            by_rack[_rack(stay.enclosure.place)].append(stay)
    said = []
    for rack, inside in by_rack.items():
        apart = [s for s in inside if s.specimen_id in kept and not _is_apart(s.enclosure.place)]
        others = sum(stay.specimen_id not in kept for stay in inside)
        if apart and others and not rack.quarantine:
            codes = ", ".join(stay.specimen.code for stay in apart)
            stand = "is in quarantine and shares" if len(apart) == 1 else "are in quarantine and share"
            said.append(
                f"{codes} {stand} {rack} with {plural(others, 'other')}. Common practice is a room or shelf of its own."
            )
    return said


def _is_apart(place: Place | None) -> bool:
    return place is not None and place.quarantine


def _rack(place: Place) -> Place:
    up = place.parent
    return up if up is not None and place.kind in {"shelf", "position"} else place


@dataclass(frozen=True)
class Exposed:
    """One animal that was near, all the ways it was, and the last look at it."""

    specimen: Specimen
    contacts: list[Contact]
    check: ExposureCheck | None
    where: str

    @property
    def here(self) -> bool:
        """Whether it can still be looked at."""
        return self.specimen.standing.status in HERE


def exposed(issue: HealthIssue, days: int, today: date) -> list[Exposed]:
    """Everybody who was near within so many days before the issue was opened, until it closed; the nearest first."""
    since = exposure.window(issue.earliest, days)
    until = min(issue.closed_on or today, today)
    found = list(_contacts(issue, since, until))
    ids = list(dict.fromkeys(contact.specimen for contact in found))
    animals = Specimen.objects.filter(pk__in=ids).for_display().in_bulk()
    checks: dict[int, ExposureCheck] = {}
    for check in issue.exposure_checks.order_by("on", "id"):
        checks[check.specimen_id] = check
    where = {
        stay.specimen_id: stay.enclosure.code
        for stay in Stay.objects.open().filter(specimen__in=ids).select_related("enclosure")
    }
    return [
        Exposed(animals[pk], [c for c in found if c.specimen == pk], checks.get(pk), where.get(pk, "")) for pk in ids
    ]


def _contacts(issue: HealthIssue, since: date, until: date) -> list[Contact]:
    suspect = issue.specimen_id
    own = Stay.objects.filter(specimen=suspect, begins__lte=until).filter(Q(ends__isnull=True) | Q(ends__gte=since))
    boxes = own.values("enclosure")
    shelves = own.filter(enclosure__place__isnull=False).values("enclosure__place")
    near = Stay.objects.filter(Q(enclosure__in=boxes) | Q(enclosure__place__in=shelves))
    stays = _lived(near.filter(begins__lte=until).filter(Q(ends__isnull=True) | Q(ends__gte=since)))
    wide = Place.objects.filter(kind__in=TOGETHER).values_list("pk", flat=True)
    found = exposure.contacts(suspect, stays, since, until, frozenset(wide))
    for name in sorted(meetings):
        found += [contact for contact in meetings[name](suspect, since) if contact.begins <= until]
    found += _same_box(issue.specimen, since, until)
    return sorted(found, key=lambda contact: exposure.ORDER.index(contact.how))


def _lived(stays: QuerySet[Stay]) -> list[Lived]:
    rows: Any = stays.order_by("begins", "id").values_list(
        "specimen_id", "enclosure_id", "enclosure__place_id", "enclosure__position", "begins", "ends"
    )
    return [Lived(*row) for row in rows]


def _same_box(specimen: Specimen, since: date, until: date) -> list[Contact]:
    box = specimen.arrival
    if box is None or not since <= box.on <= until:
        return []
    others = Specimen.objects.filter(arrival=box).exclude(pk=specimen.pk)
    return [Contact(pk, How.BOX, box.on, box.on) for pk in others.order_by("pk").values_list("pk", flat=True)]


def record_check(issue: HealthIssue, specimen: Specimen, day: date, found: Found, note: str = "") -> None:
    """An animal that was near was looked at; a second look on one day replaces the first."""
    if specimen.pk == issue.specimen_id:
        raise Refused(f"{specimen.code} is the one it is about.")
    if day < issue.earliest:
        raise Refused(f"This issue was opened on {issue.when}; the look lies before it.", "on")
    check = ExposureCheck.objects.filter(issue=issue, specimen=specimen, on=day).first()
    check = check or ExposureCheck(issue=issue, specimen=specimen, on=day)
    check.found, check.note = found.value, note
    with transaction.atomic():
        check.save()
        receipts.note(f"{specimen.code}, near {issue.specimen.code}: {found.label}", [specimen.pk])
