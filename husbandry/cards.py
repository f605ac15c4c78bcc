"""The cards of a walk: one an enclosure, in walking order, with what the hand needs and nothing more.

All cards of a walk travel in one page, so names and sentences that repeat are sent once and named by number.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery

from collection import attention, dues
from collection.attention import Urgency
from collection.dates import say_date
from collection.models import Due, HealthIssue, Specimen, SpecimenKind, Taxon
from collection.stages import Group, Stage, stage_label
from husbandry import holds, isolation, prey, rhythm, upkeep_sources
from husbandry.attention_sources import hold_of
from husbandry.isolation import Mark
from husbandry.models import Enclosure, FeederStock, Feeding, Place, Stay, Upkeep
from husbandry.querysets import EnclosureQuerySet
from husbandry.rhythm import Hold, Outcome

MEAL_DAYS = 56
OUT = "What is not eaten comes out within a day: it may bite an animal that molts."  # care pages
FEEDERS_SHOWN = 10
KINDS = ("feed", "hardening", "water", "upkeep")
BESIDES = ("molt", "concern", "quarantine-check")  # said on a card, though no stop is made for them
URGENT = {Urgency.OVER.value: 0, Urgency.DUE.value: 1, Urgency.LOOK.value: 2, Urgency.HELD.value: 3}


@dataclass(frozen=True)
class Feeder:
    """Prey of a kind and size, as one takes it along."""

    prey: str
    mm: float | None


USUAL = (
    Feeder("fruit flies", 3),
    Feeder("cricket", 5),
    Feeder("cricket", 10),
    Feeder("roach nymph", 10),
    Feeder("roach nymph", 15),
    Feeder("cricket", 20),
    Feeder("roach", 30),
    Feeder("locust", 40),
)


def enclosures(place: Place | None, only_due: bool, today: date) -> EnclosureQuerySet:
    """The stops of a walk in order: every enclosure somebody lives in, or those where something is due."""
    stays = _living().filter(ends__isnull=True)
    if only_due:
        due = Due.objects.due(today).of(*KINDS).values("specimen")
        stays = stays.filter(Q(specimen__in=due) | Q(specimen__in=left_in(today).values("specimen")))
    found = Enclosure.objects.in_use().filter(stays__in=stays.order_by())
    if place is not None:
        found = found.filter(place__walk_key__startswith=place.walk_key)
    return found.distinct().in_walking_order()


def left_in(today: date) -> QuerySet[Feeding]:
    """Prey that was left in before today, of which nobody has said since whether it was eaten."""
    newest = Feeding.objects.filter(specimen=OuterRef("specimen")).order_by("-on", "-id").values("pk")[:1]
    left = Feeding.objects.filter(outcome=Outcome.LEFT.value, on__lt=today, on__gte=today - timedelta(days=MEAL_DAYS))
    return left.filter(pk=Subquery(newest)).order_by()


def feeders(today: date) -> list[Feeder]:
    """What was fed of late, most used first, then what is kept, filled up with the usual sizes."""
    recent = Feeding.objects.filter(on__gte=today - timedelta(days=60)).exclude(prey="").order_by()
    counted = recent.values_list("prey", "prey_mm").annotate(n=Count("id")).order_by("-n", "prey", "prey_mm")
    used = [Feeder(prey, mm) for prey, mm, _ in counted[:FEEDERS_SHOWN]]
    kept = [Feeder(kind, mm) for kind, mm in FeederStock.objects.filter(kept=True).values_list("kind", "mm")]
    return list(dict.fromkeys([*used, *kept, *USUAL]))[:FEEDERS_SHOWN]


class Facts:
    """Rows about all animals of a walk, one query a kind."""

    def __init__(self, ids: list[int], enclosure_ids: list[int], today: date) -> None:
        self.today = today
        self.said: dict[int, list[tuple[str, attention.Said, Due]]] = defaultdict(list)
        for due in Due.objects.filter(specimen__in=ids).wanted(today).of(*KINDS, *BESIDES):
            kind = attention.due_kinds.get(due.kind)
            if kind is not None:
                self.said[due.specimen_id].append((due.kind, attention.said(kind, dues.as_stored(due), today), due))
        self.holds = _held(ids, today)
        self.marks = isolation.marks(enclosure_ids)
        self.ill: dict[int, list[str]] = defaultdict(list)
        for issue in HealthIssue.objects.open().filter(specimen__in=ids).order_by("earliest", "id"):
            self.ill[issue.specimen_id].append(f"{str(issue).capitalize()} since {say_date(issue.when, today)}.")
        self.meals: dict[int, list[list[int]]] = defaultdict(list)
        self.last: dict[int, Feeder] = {}
        self.left: dict[int, str] = {}
        since = today - timedelta(days=MEAL_DAYS)
        meals = Feeding.objects.filter(specimen__in=ids, on__gte=since).order_by("on", "id")
        for pk, on, outcome, eaten, mm in meals.values_list("specimen_id", "on", "outcome", "prey", "prey_mm"):
            self.meals[pk].append([(on - since).days, int(outcome == "taken")])
            if eaten:
                self.last[pk] = Feeder(eaten, mm)
            self.left.pop(pk, None)
            if outcome == Outcome.LEFT.value and on < today:
                self.left[pk] = f"{(eaten or 'prey').capitalize()} left in on {say_date(on, today)}. {OUT}"
        self.works: dict[int, list[list[str]]] = {}
        watered = Upkeep.objects.filter(kind="water", enclosure__in=enclosure_ids).values_list("enclosure")
        self.water: dict[int, date] = dict(watered.annotate(on=Max("on")).order_by())


def _held(ids: list[int], today: date) -> dict[int, str]:
    """What stops the feeding of these animals today, in a sentence; the hold that lasts longest where there are more.

    Premolt is worked out with the next feed and stands in the stored due date; all others are asked anew, since one
    that ends before the next feed leaves no trace there.
    """
    every = holds.gather(ids)
    for due in Due.objects.filter(specimen__in=ids, kind="feed"):
        if (stored := hold_of(due.facts)) is not None:
            every[due.specimen_id].append(stored)
    said: dict[int, str] = {}
    for pk, found in every.items():
        covering = [hold for hold in found if hold.covers(today)]
        if covering:
            said[pk] = _say_hold(max(covering, key=lambda hold: hold.ends or date.max), today)
    return said


def _say_hold(hold: Hold, today: date) -> str:
    nothing: dict[str, Any] = {"last_taken": None, "interval": None, "due": None, "in_house_since": None}
    return rhythm.say_feed(hold=hold, refusals=0, today=today, **nothing)


def payload(order: list[int], today: date) -> dict[str, Any]:
    """Everything the walk page needs, as plain values; the stops in the order that the walk began with."""
    stops = _lived_in(order)
    ids = [stay.specimen_id for stop in stops for stay in stop.open_stays]
    facts = Facts(ids, [stop.pk for stop in stops], today)
    facts.works = _works(stops)
    taxa = {stay.specimen.taxon_id: stay.specimen.taxon for stop in stops for stay in stop.open_stays}
    index = {pk: number for number, pk in enumerate(taxa)}
    places = _places()
    return {
        "taxa": [_taxon(taxon) for taxon in taxa.values()],
        "feeders": [[feeder.prey, feeder.mm] for feeder in feeders(today)],
        "stops": [_stop(stop, facts, index, places) for stop in stops],
        "days": MEAL_DAYS,
    }


def _lived_in(order: list[int]) -> list[Any]:
    """These enclosures in this order, without those that nobody lives in any more."""
    found: dict[int, Any] = {stop.pk: stop for stop in Enclosure.objects.filter(pk__in=order).with_occupants(_living())}
    return [found[pk] for pk in order if pk in found and found[pk].open_stays]


def _works(stops: list[Any]) -> dict[int, list[list[str]]]:
    """What is done at each stop beside water, each as its kind and its word."""
    rhythms = upkeep_sources.rhythms_in_force(
        [(0, stop.pk, stop.place.walk_key if stop.place else "") for stop in stops]
    )
    return {
        enclosure: [[kind, upkeep_sources.NAMES[kind]] for kind, (days, _) in sorted(kinds.items()) if days]
        for enclosure, kinds in rhythms.items()
    }


def _places() -> dict[int, Place]:
    return {place.pk: place for place in Place.objects.select_related("parent")}


def spots(order: list[int]) -> list[tuple[str, str]]:
    """Code and spot of those of these enclosures that somebody lives in."""
    places = _places()
    return [(stop.code, spot(stop, places)) for stop in _lived_in(order)]


def _living() -> QuerySet[Stay]:
    return Stay.objects.filter(specimen__standing__status__in=("here", "loan_in")).order_by("id")


def _taxon(taxon: Taxon) -> list[Any]:
    return [str(taxon), taxon.authorship, taxon.venom_class, taxon.hair_class, taxon.hazard_note, taxon.group]


def _stop(stop: Any, facts: Facts, index: dict[int, int], places: dict[int, Place]) -> list[Any]:
    """One enclosure: id, code, spot, days since water, who lives there, what else is done there."""
    watered = facts.water.get(stop.pk)
    return [
        stop.pk,
        stop.code,
        spot(stop, places),
        (facts.today - watered).days if watered else None,
        [_animal(stay.specimen, facts, index, facts.marks.get(stop.pk, [])) for stay in stop.open_stays],
        facts.works.get(stop.pk, []),
    ]


def spot(stop: Enclosure, places: dict[int, Place]) -> str:
    """Where the hand goes, in short: the rack's last word, shelf and position."""
    place = places.get(stop.place_id or 0)
    if place is None:
        return stop.code
    rack = place.parent if place.parent is not None and place.kind in {"shelf", "position"} else place
    shelf = f"{place.order}·" if rack is not place and place.order else ""
    return f"{rack.name.split()[-1]} {shelf}{stop.position or stop.code}"


def _animal(specimen: Specimen, facts: Facts, index: dict[int, int], marks: list[Mark]) -> list[Any]:
    """One animal: id, code, taxon number, sex, stage, reasons, hold, meals, prey limit, last prey, heads, left in.

    What is to be known before the lid is opened stands first: what spreads here or beside, and what is wrong.
    """
    standing = specimen.standing
    group, stage = Group(specimen.taxon.group), Stage(standing.stage)
    said = sorted(facts.said[specimen.pk], key=lambda item: (item[0] != "concern", URGENT[item[1].urgency.value]))
    last = facts.last.get(specimen.pk)
    several = specimen.kind != SpecimenKind.SINGLE.value
    return [
        specimen.pk,
        specimen.code,
        index[specimen.taxon_id],
        "conflict" if standing.sex_conflict else ("group" if several else standing.sex),
        stage_label(group, stage) + (f", {standing.size_mm:g} mm" if standing.size_mm else ""),
        [
            *([Urgency.LOOK.value, mark.word, mark.sentence] for mark in marks),
            *([Urgency.LOOK.value, "ill", sentence] for sentence in facts.ill[specimen.pk]),
            *([Urgency.OVER.value, "left in", facts.left[specimen.pk]] for _ in range(specimen.pk in facts.left)),
            *([s.urgency.value, s.plate, s.sentence] for _, s, _ in said),
        ],
        facts.holds.get(specimen.pk),
        facts.meals[specimen.pk],
        prey.prey_limit(stage, standing.size_mm, measured_body=specimen.taxon.size_measure == "body"),
        [last.prey, last.mm] if last else None,
        standing.head_count if several else 0,
        specimen.pk in facts.left,
    ]


def due_stops(places: Iterable[Place], today: date) -> dict[int, int]:
    """How many animals of each place, with all that stands in it, are due; for the page where one chooses."""
    rows = (
        Due.objects.due(today)
        .of(*KINDS)
        .filter(Q(specimen__stays__ends__isnull=True) & Q(specimen__stays__enclosure__place__isnull=False))
        .values_list("specimen_id", "specimen__stays__enclosure__place__walk_key")
        .distinct()
    )
    inside: dict[str, set[int]] = defaultdict(set)
    left = left_in(today).filter(specimen__stays__ends__isnull=True, specimen__stays__enclosure__place__isnull=False)
    for pk, key in [*rows, *left.values_list("specimen_id", "specimen__stays__enclosure__place__walk_key")]:
        for end in range(len(key) + 1):
            inside[key[:end]].add(pk)  # of the place itself, and of every one that it stands in
    return {place.pk: len(inside[place.walk_key]) for place in places}
