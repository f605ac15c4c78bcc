"""The handover sheet: who gets what on which day, in walking order, and what is left alone and why."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from collection.dates import say_date
from collection.models import Due, Specimen
from collection.stages import Stage
from husbandry import absence, cards, holds, rhythm_choice, upkeep_sources
from husbandry.absence import Plan
from husbandry.attention_sources import hold_of
from husbandry.models import Enclosure, Place, Stay, Upkeep
from husbandry.rhythm import Hold, HoldKind, Rhythm, after_holds

AT_ONCE = 400  # enclosures on one sheet, some 25 pages of paper; then the next rack begins another
LEFT_ALONE = dict.fromkeys((HoldKind.SAC, HoldKind.BROOD, HoldKind.EXPECTING), "Do not open.")


@dataclass
class Line:
    """One animal on the sheet."""

    specimen: Specimen
    enclosure: Enclosure
    spot: str
    plan: Plan
    prey: str


@dataclass
class Part:
    """A rack, tray or room with its animals."""

    place: Place | None
    lines: list[Line] = field(default_factory=list)


@dataclass(frozen=True)
class Round:
    """One kind of upkeep in one place on one day, and in which enclosures; `whole` where it is all of them."""

    day: date
    place: str
    what: str
    spots: tuple[str, ...]
    whole: bool


@dataclass(frozen=True)
class Sheet:
    """A whole sheet, or one of several where the house is large."""

    days: tuple[date, ...]
    parts: list[Part]
    meals: int
    hazardous: list[Specimen]
    rounds: list[Round]
    last: list[tuple[str, str, str]]  # spot, codes, why: quarantine, then what may spread
    number: int = 1
    of: int = 1

    @property
    def hands_off(self) -> list[Line]:
        """Who is left alone, at some time or all the time."""
        return [line for part in self.parts for line in part.lines if line.plan.hands_off]


def sheet(place: Place | None, begins: date, ends: date, number: int = 1) -> Sheet:
    """The sheet for an absence, or one of its sheets; ValueError when its days make no sense."""
    days = absence.days_between(begins, ends)
    places = {found.pk: found for found in Place.objects.select_related("parent__parent")}
    enclosures = cards.enclosures(place, False, begins)
    sheets = _in_sheets(enclosures.values_list("pk", "place_id"), places)
    number = min(max(number, 1), len(sheets))
    if len(sheets) > 1:
        enclosures = enclosures.filter(pk__in=sheets[number - 1])
    stops: list[Any] = list(enclosures.with_occupants(_living()))
    ids = [stay.specimen_id for stop in stops for stay in stop.open_stays]
    dues, stops_feeding = _dues(ids), holds.gather(ids)
    facts = cards.Facts(ids, [stop.pk for stop in stops], begins)
    parts: list[Part] = []
    for stop in stops:
        rack = _rack(places.get(stop.place_id or 0))
        if not parts or parts[-1].place != rack:
            parts.append(Part(rack))
        for stay in stop.open_stays:
            animal = stay.specimen
            young = animal.standing.stage == Stage.YOUNG.value
            plan = plan_of(dues[animal.pk], begins, ends, stops_feeding[animal.pk], young=young)
            if plan.feed or plan.water or plan.hands_off:
                parts[-1].lines.append(Line(animal, stop, cards.spot(stop, places), plan, _prey(facts, animal)))
    parts = [part for part in parts if part.lines]
    shown = [line.specimen for part in parts for line in part.lines]
    return Sheet(
        days=days,
        parts=parts,
        meals=sum(len(line.plan.feed) for part in parts for line in part.lines),
        hazardous=[animal for animal in shown if (animal.taxon.venom_class or 0) >= 2],
        rounds=_rounds(stops, dues, places, begins, ends),
        last=_last(stops, facts, places),
        number=number,
        of=len(sheets),
    )


def _in_sheets(stops: Iterable[tuple[int, int | None]], places: dict[int, Place]) -> list[list[int]]:
    """The enclosures of each sheet, in walking order; a rack is never torn in two."""
    sheets: list[list[int]] = [[]]
    before: Place | None = None
    for pk, place_id in stops:
        rack = _rack(places.get(place_id or 0))
        if len(sheets[-1]) >= AT_ONCE and rack != before:
            sheets.append([])
        sheets[-1].append(pk)
        before = rack
    return sheets


def _rounds(
    stops: list[Any], dues: dict[int, dict[str, Due]], places: dict[int, Place], begins: date, ends: date
) -> list[Round]:
    """Misting, cleaning and the like by day and place, in walking order; a lid that stays shut is only misted."""
    there: Counter[str] = Counter()
    found: dict[tuple[date, str, str], list[str]] = defaultdict(list)
    for stop in stops:
        rack = _rack(places.get(stop.place_id or 0))
        name = str(rack or "No place yet")
        there[name] += 1
        kept = [dues[stay.specimen_id] for stay in stop.open_stays]
        jobs: list[Any] = next((due["upkeep"].facts["jobs"] for due in kept if "upkeep" in due), [])
        shut = any(_stays_shut(due.get("feed")) for due in kept)
        for kind, due, days, _ in jobs:
            if shut and kind != Upkeep.Kind.MISTING.value:
                continue
            for day in absence.falls_on(date.fromisoformat(due), days, begins, ends):
                found[day, name, kind].append(cards.spot(stop, places))
    order = {name: number for number, name in enumerate(there)}
    rows = sorted(found.items(), key=lambda row: (row[0][0], order[row[0][1]], row[0][2]))
    return [
        Round(day, place, upkeep_sources.as_work(kind), tuple(spots), len(spots) == there[place] > 1)
        for (day, place, kind), spots in rows
    ]


def _stays_shut(feed: Due | None) -> bool:
    hold = hold_of(feed.facts) if feed is not None else None
    return hold is not None and hold.kind in LEFT_ALONE


def _last(stops: list[Any], facts: cards.Facts, places: dict[int, Place]) -> list[tuple[str, str, str]]:
    """What is looked after at the end of each round, in that order, whether or not anything falls due there."""
    late = [(mark, stop) for stop in stops for mark in facts.marks.get(stop.pk, []) if mark.last]
    late.sort(key=lambda row: row[0].last)
    return [
        (cards.spot(stop, places), ", ".join(stay.specimen.code for stay in stop.open_stays), mark.sentence)
        for mark, stop in late
    ]


def _living() -> Any:
    return Stay.objects.filter(specimen__standing__status__in=("here", "loan_in")).order_by("id")


def _dues(ids: list[int]) -> dict[int, dict[str, Due]]:
    found: dict[int, dict[str, Due]] = defaultdict(dict)
    for due in Due.objects.filter(specimen__in=ids).of("feed", "water", "molt", "upkeep"):
        found[due.specimen_id][due.kind] = due
    return found


def _prey(facts: cards.Facts, animal: Specimen) -> str:
    """What the animal took last, in words."""
    last = facts.last.get(animal.pk)
    if last is None:
        return ""
    return f"{last.prey}, {last.mm:g} mm" if last.mm else last.prey


def _rack(place: Place | None) -> Place | None:
    while place is not None and place.parent is not None and place.kind in {"shelf", "position"}:
        place = place.parent
    return place


def plan_of(
    dues: dict[str, Due], begins: date, ends: date, known: Sequence[Hold] = (), *, young: bool = False
) -> Plan:  # fmt: skip
    """One animal's days from its stored due dates and from all that stops its feeding, what is planned included."""
    feed, water, molt = dues.get("feed"), dues.get("water"), dues.get("molt")
    delayed = hold_of(feed.facts) if feed else None  # a premolt is worked out with the feed alone
    stops = [hold for hold in (delayed, *known) if hold and (hold.ends is None or hold.ends > begins)]
    stops = sorted((hold for hold in stops if hold.begins <= ends), key=lambda hold: (hold is not delayed, hold.begins))
    water_days = absence.falls_on(water.due_on, water.facts["interval"], begins, ends) if water else ()
    return Plan(
        _feed_days(feed, stops, begins, ends),
        water_days,
        _hands_off(next(iter(stops), None), molt, begins, ends, young),
    )


def _feed_days(feed: Due | None, stops: Sequence[Hold], begins: date, ends: date) -> tuple[date, ...]:
    """The days on which food is offered; a hold inside the absence puts a feed off to its end."""
    if feed is None or feed.due_on is None:
        return ()
    first, _ = after_holds(max(feed.due_on, begins), [replace(hold, planned=True) for hold in stops])
    every = Rhythm(feed.facts["interval"], "")
    return tuple(rhythm_choice.coming(first, every, stops, begins, ends + timedelta(days=1)))


def _hands_off(hold: Hold | None, molt: Due | None, begins: date, ends: date, young: bool) -> str:
    if hold is not None:
        until = f" until {say_date(hold.ends)}" if hold.ends else ""
        since = f"From {say_date(hold.begins)}: " if hold.begins > begins else ""
        why = f"{hold.reason[:1].upper()}{hold.reason[1:]}"
        return f"{since}{why}{until}. {LEFT_ALONE.get(hold.kind, 'Offer nothing.')}"
    if molt is not None and not young and molt.wanted_on <= ends and date.fromisoformat(molt.facts["likely"]) <= ends:
        return "A molt may come: take prey out after a day; if it lies on its back or hangs still, leave it alone."
    return ""
