"""Due dates of water and of the other rounds: misting, cleaning, fresh substrate, a look for mould and mites."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django.db.models import Max, Q

from collection import attention
from collection.attention import Action, DueKind, Said, StoredDue
from collection.dates import say_date
from collection.models import Specimen
from collection.stages import Lifestyle, Stage
from husbandry import rhythm
from husbandry.attention_sources import by_day, day_of
from husbandry.hold_sources import NO_HARDENING
from husbandry.models import Enclosure, Place, Stay, Upkeep, UpkeepRhythm
from husbandry.querysets import StayQuerySet
from husbandry.rounds import upkeep_rounds, water_round

WATER = Upkeep.Kind.WATER.value
NAMES = dict(Upkeep.Kind.choices)
AS_A_RHYTHM = {"check": "a look for mould and mites", "substrate": "fresh substrate"}


def _stays(ids: Sequence[int]) -> StayQuerySet:
    """Where these animals stand, of those that are here."""
    return Stay.objects.open().filter(specimen__in=ids, specimen__standing__status__in=("here", "loan_in"))


def _last_done(enclosures: set[int]) -> dict[tuple[int, str], date]:
    """When each kind of upkeep was last done, by enclosure."""
    rows = Upkeep.objects.filter(enclosure__in=enclosures).values_list("enclosure_id", "kind")
    return {(enclosure, kind): last for enclosure, kind, last in rows.annotate(last=Max("on")).order_by()}


def water(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Water, where the keeper keeps track of it, where a mature male lives, and after a molt."""
    rows = list(_stays(ids).select_related("enclosure", "specimen__taxon", "specimen__standing"))
    done = _last_done({stay.enclosure_id for stay in rows})
    for stay in rows:
        last = done.get((stay.enclosure_id, WATER))
        taxon, standing = stay.specimen.taxon, stay.specimen.standing
        round_ = water_round(
            last=last,
            begins=stay.begins,
            own_days=stay.enclosure.water_days,
            lifestyle=Lifestyle(taxon.lifestyle or "terrestrial"),
            mature_since=standing.mature_since,
            molted=standing.last_molt,
            hardens_until=_hardens_until(stay.specimen),
        )
        if round_ is not None:
            facts = {"last": last.isoformat() if last else None, "interval": round_.days, "why": round_.why}
            yield StoredDue(stay.specimen_id, round_.due, round_.due, facts, round_.ends)


def _hardens_until(specimen: Specimen) -> date | None:
    standing = specimen.standing
    if standing.last_molt is None or not standing.single or specimen.taxon.group in NO_HARDENING:
        return None
    return rhythm.hardening(Stage(standing.stage), standing.size_mm, standing.last_molt).ends


def say_water(due: StoredDue, today: date) -> Said:
    """Water is due, with the last time, the rhythm, and what makes it short."""
    last = day_of(due.facts["last"])
    before = f"Water last on {say_date(last, today)}" if last else "No water on record"
    why = f": {due.facts['why']}" if due.facts.get("why") else ""
    sentence = f"{before}; rhythm {due.facts['interval']}{why}."
    return by_day(due.due_on or due.wanted_on, today, sentence, (Action("Water done", "husbandry:water-now"),))


def rhythms_in_force(stays: Sequence[tuple[int, int, str]]) -> dict[int, dict[str, tuple[int, date]]]:
    """By enclosure, the days between two rounds of each kind: its own, else those of the nearest place around it.

    `stays` are (animal, enclosure, walking key of its place).
    """
    keys = {enclosure: key for _, enclosure, key in stays}
    found: dict[int, dict[str, tuple[int, date]]] = defaultdict(dict)
    rows = UpkeepRhythm.objects.filter(Q(place__isnull=False) | Q(enclosure__in=keys)).values_list(
        "enclosure_id", "place__walk_key", "kind", "days", "since"
    )
    # The nearer place overwrites the wider one, and the enclosure's own both.
    for own, key, kind, days, since in sorted(rows, key=lambda row: (row[0] is not None, len(row[1] or ""))):
        for enclosure in [own] if own else [e for e, stands in keys.items() if stands.startswith(key)]:
            found[enclosure][kind] = (days, since)
    return found


def rhythms_of(enclosure: Enclosure) -> list[tuple[str, int]]:
    """What is done in this enclosure every so many days, in words: its own rhythms and those of its place."""
    key = enclosure.place.walk_key if enclosure.place else ""
    found = rhythms_in_force([(0, enclosure.pk, key)])[enclosure.pk]
    return [(as_work(kind), days) for kind, (days, _) in sorted(found.items()) if days]


def as_work(kind: str) -> str:
    """A kind of upkeep as what there is to do, not as what was done."""
    return AS_A_RHYTHM.get(kind, NAMES.get(kind, kind))


def rounds_of(place: Place) -> list[tuple[str, str]]:
    """What can be done in one go in all that stand in a place: water, and what has a rhythm there."""
    around = [place.walk_key[:end] for end in range(4, len(place.walk_key) + 1, 4)]
    kinds = set(UpkeepRhythm.objects.filter(place__walk_key__in=around, days__gt=0).values_list("kind", flat=True))
    return [(kind, _done_label(kind)) for kind in [WATER, *sorted(kinds)]]


def upkeep(ids: Sequence[int]) -> Iterator[StoredDue]:
    """The rounds of the enclosure an animal lives in; all of them in one row, the soonest first."""
    rows = [
        (pk, enclosure, key or "")
        for pk, enclosure, key in _stays(ids).values_list("specimen_id", "enclosure_id", "enclosure__place__walk_key")
    ]
    rhythms = rhythms_in_force(rows)
    if not rhythms:
        return
    done = _last_done(set(rhythms))
    for pk, enclosure, _ in rows:
        last = {kind: day for (where, kind), day in done.items() if where == enclosure}
        jobs = upkeep_rounds(rhythms.get(enclosure, {}), last)
        if jobs:
            first = jobs[0][1]
            yield StoredDue(pk, first, first, {"jobs": [_plain(job) for job in jobs]})


def _plain(job: tuple[str, date, int, date | None]) -> list[Any]:
    kind, due, days, last = job
    return [kind, due.isoformat(), days, last.isoformat() if last else None]


def say_upkeep(due: StoredDue, today: date) -> Said:
    """What wants doing, each with its last time and its rhythm."""
    first = due.due_on or due.wanted_on
    jobs = [job for job in due.facts["jobs"] if date.fromisoformat(job[1]) <= max(today, first)]
    sentence = "; ".join(_say_job(job, today) for job in jobs)
    actions = tuple(Action(_done_label(kind), "husbandry:upkeep-now", {"kind": kind}) for kind, *_ in jobs)
    return by_day(first, today, f"{sentence[0].upper()}{sentence[1:]}.", actions)


def _say_job(job: list[Any], today: date) -> str:
    kind, _, days, last = job
    before = f"last on {say_date(date.fromisoformat(last), today)}" if last else "not on record"
    return f"{NAMES.get(kind, kind)} {before}, rhythm {days}"


def _done_label(kind: str) -> str:
    return {"check": "Looked for mould", "substrate": "Substrate done"}.get(
        kind, f"{NAMES.get(kind, kind)} done".capitalize()
    )


attention.register(DueKind("water", "Water", water, say_water, by_day=True, order=30))
attention.register(DueKind("upkeep", "Upkeep", upkeep, say_upkeep, by_day=True, order=35))
