"""From rows to lives: who was watched from when to when, and how each was grouped.

Two clocks. By age, an animal bought part-grown is under watch from the age at which it came (left-truncated), and who
has no date of hatching stays out. By time in the house, all count from the day they came; so does a comparison by
origin unless asked otherwise, since a wild-caught animal has no age. Dead ends a life; passed on, lent out, missing and
alive today only end the watching.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils import timezone

from collection.dates import FuzzyDate
from collection.lifetable import Life
from collection.models import Departure, Measurement, Molt, Origin, Specimen, SpecimenKind
from collection.stages import Group, Stage, find_stage, stage_label

BY = {
    "all": "all together",
    "taxon": "by taxon",
    "clutch": "by clutch",
    "origin": "by origin",
    "stage": "by first stage on record",
}
CLOCKS = {"": "as records allow", "age": "age", "house": "time in the house"}
ORIGINS = {
    Origin.CAPTIVE_BRED.value: "captive bred",
    Origin.CAPTIVE_BORN.value: "born in captivity",
    Origin.RANCHED.value: "ranched",
    Origin.WILD.value: "wild caught",
    Origin.UNKNOWN.value: "origin unknown",
}
CAUSE_GROUPS = {
    "a molt": ("molt",),
    "the enclosure": ("fall", "dehydration", "heat", "cold"),
    "parasites or infection": ("parasite", "infection"),
    "another animal": ("prey", "pairing", "sibling"),
    "age": ("male_age", "age"),
    "the journey": ("shipping",),
    "too young to feed": ("egg",),
    "unknown": ("unknown",),
}
GROUP_OF = {cause: name for name, causes in CAUSE_GROUPS.items() for cause in causes}
FIELDS = (
    "pk", "taxon_id", "taxon__name", "taxon__group", "clutch", "origin", "hatched_earliest", "hatched_latest",
    "acquired_earliest", "acquired_latest", "entered_at", "death__earliest", "death__latest", "death__cause",
)  # fmt: skip


@dataclass(frozen=True)
class Kept:
    """One single animal as the database has it."""

    pk: int
    taxon: str
    group: str
    clutch: str
    origin: str
    hatched: date | None
    came: date
    gone: date
    cause: str


@dataclass(frozen=True)
class Asked:
    """What the page is asked for."""

    by: str = "all"
    clock: str = ""
    taxon: int | None = None


@dataclass(frozen=True)
class Lives:
    """The lives asked for, grouped, with what was left out and why."""

    clock: str
    groups: Mapping[str, list[Life]]
    no_hatching: int  # by age only
    no_group: int
    impossible: int  # last seen before it came
    not_single: int


def read(asked: Asked, today: date) -> Lives:
    """The lives of all single animals asked for, dead, gone or here."""
    found = list(_kept(asked, today))
    aged = sum(one.hatched is not None for one in found)
    clock = asked.clock or ("age" if aged * 2 >= len(found) and asked.by != "origin" else "house")
    first = _first_stages([one.pk for one in found], found) if asked.by == "stage" else {}
    groups: dict[str, list[Life]] = defaultdict(list)
    unknown = impossible = nameless = 0
    for one in found:
        label, since = _label(one, asked.by, first)
        life = _life(one, clock, since)
        unknown += clock == "age" and one.hatched is None
        nameless += not label
        if life is None:
            impossible += not (clock == "age" and one.hatched is None)
        elif label:
            groups[label].append(life)
    others = Specimen.objects.exclude(kind=SpecimenKind.SINGLE.value)
    if asked.taxon:
        others = others.filter(taxon=asked.taxon)
    return Lives(clock, groups, unknown, nameless, impossible, others.count())


def _kept(asked: Asked, today: date) -> Iterable[Kept]:
    rows = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value)
    if asked.taxon:
        rows = rows.filter(taxon=asked.taxon)
    away = dict(Departure.objects.filter(back_on__isnull=True).values_list("specimen_id", "on"))
    for pk, _, taxon, group, clutch, origin, *days in rows.order_by().values_list(*FIELDS):
        hatched = _middle(days[0], days[1])
        came = _middle(days[2], days[3]) or timezone.localdate(days[4])
        died = _middle(days[5], days[6])
        gone = died or min(away.get(pk, today), today)
        cause = GROUP_OF.get(days[7], "unknown") if died else ""
        yield Kept(pk, taxon, group, clutch, origin, hatched, came, gone, cause)


def _middle(earliest: date | None, latest: date | None) -> date | None:
    if earliest is None or latest is None or earliest == latest:
        return earliest
    return FuzzyDate(earliest, latest).middle


def _label(one: Kept, by: str, first: Mapping[int, tuple[str, date]]) -> tuple[str, date]:
    """The name of its group, empty where it has none, and since when it belongs there."""
    if by == "stage":
        return first.get(one.pk, ("", one.came))
    labels = {"taxon": one.taxon, "clutch": one.clutch, "origin": ORIGINS.get(one.origin, "origin unknown")}
    return labels.get(by, "all"), one.came


def _life(one: Kept, clock: str, since: date) -> Life | None:
    """Its life by one clock; None where the clock has no start, or the days cannot be."""
    start = one.hatched if clock == "age" else one.came
    if start is None:
        return None
    entry, last = max((max(since, one.came) - start).days, 0), (one.gone - start).days + 1
    return Life(float(entry), float(last), one.cause) if last > entry else None


def _first_stages(ids: list[int], found: list[Kept]) -> dict[int, tuple[str, date]]:
    """The stage at the first size or look on record, and its day: a later one would favour those that lived to it."""
    group_of = {one.pk: one.group for one in found}
    adult = {pk: low or high for pk, low, high in _adult_sizes()}
    measure = dict(Specimen.objects.values_list("pk", "taxon__size_measure"))
    looks: dict[int, tuple[date, float | None, Any]] = {}
    rows = list(Molt.objects.filter(leg_span_mm__isnull=False).values_list("specimen_id", "earliest", "leg_span_mm"))
    sized = [(pk, day, size if measure.get(pk) == "leg_span" else None, None) for pk, day, size in rows]
    columns = ("specimen_id", "earliest", "leg_span_mm", "body_mm", "stage_seen")
    for pk, day, span, body, seen in Measurement.objects.values_list(*columns):
        sized.append((pk, day, body if measure.get(pk) == "body" else span, seen))
    for pk, day, size, seen in sized:
        if (size or seen) and (pk not in looks or day < looks[pk][0]):
            looks[pk] = (day, size, seen)
    named = {}
    for pk, (day, size, seen) in looks.items():
        if pk in group_of:
            group = Group(group_of[pk])
            stage = find_stage(
                group, size_mm=size, adult_size_mm=adult.get(pk), stage_seen=Stage(seen) if seen else None
            ).stage
            if stage is not Stage.UNKNOWN:
                named[pk] = (stage_label(group, stage), day)
    return named


def _adult_sizes() -> Iterable[tuple[int, float | None, float | None]]:
    return Specimen.objects.values_list("pk", "taxon__adult_size_min_mm", "taxon__adult_size_max_mm")
