"""The forecasts of breeding that are kept and scored: the sac after a pairing, and the next of the same mating."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import partial

from django.utils import timezone

from breeding import pairings
from breeding.models import EggSac, Meeting
from breeding.pairings import Insemination
from breeding.sacwatch import TaxonRecord
from breeding.secondclutch import lays_again
from collection import forecasting
from collection.dates import FuzzyDate
from collection.forecasting import Ending, ForecastKind, Promise, Running, Waits
from collection.models import ForecastWidth, Molt, Specimen
from collection.stages import Group


def sacs(ids: Sequence[int]) -> Waits:
    """The last meeting that may have worked begins a wait; a sac ends it, or a molt, which sheds the sperm."""
    met: dict[int, list[Meeting]] = defaultdict(list)
    for meeting in Meeting.objects.filter(pairing__female__in=ids).select_related("pairing").order_by("earliest", "id"):
        met[meeting.pairing.female_id].append(meeting)
    if not met:
        return Waits()
    ended = {}
    for female, ends in pairings.ends(list(met)).items():
        before = date.min
        for day, kind in ends:
            inside = [meeting for meeting in met[female] if before < meeting.when.middle < day]
            if inside:
                ended[female, pairings.last_of(inside).pk] = Ending(day, came=kind == "sac")
            before = day
    return Waits(_running(list(met)), ended)


def _running(ids: Sequence[int]) -> dict[forecasting.Key, Running]:
    """Females that hold sperm and are here."""
    held = pairings.inseminations(ids)
    females = Specimen.objects.filter(pk__in=list(held)).here().for_display()
    records = pairings.taxon_records({female.taxon_id for female in females}, timezone.localdate()) if held else {}
    widened = ForecastWidth.objects.factor("sac") if held else 1.0
    found = {}
    for female in females:
        one = held[female.pk]
        if one.laid is not None:
            continue  # the wait for a second brood is no wait from a pairing: a kind of its own
        record = records.get(female.taxon_id, TaxonRecord())
        promise = partial(_promise, female, one, record, widened)
        found[female.pk, one.last.pk] = Running(one.paired.middle, promise)
    return found


def _promise(female: Specimen, one: Insemination, record: TaxonRecord, widened: float) -> Promise | None:
    clock = pairings.clock_of(female, one, record, widened)
    return Promise(clock.forecast, clock.chance, widened) if clock else None


def seconds(ids: Sequence[int]) -> Waits:
    """A sac of a taxon that lays again begins a wait for the next of that mating. A new pairing replaces the wait."""
    met: dict[int, list[date]] = defaultdict(list)
    meetings = Meeting.objects.filter(pairing__female__in=ids).select_related("pairing__female__taxon")
    for meeting in meetings:
        taxon = meeting.pairing.female.taxon
        if lays_again(taxon.name, Group(taxon.group)):
            met[meeting.pairing.female_id].append(meeting.when.middle)
    if not met:
        return Waits()
    events = _events(list(met))
    ended = {(female, sac): end for female in met for sac, end in _next(met[female], events[female])}
    return Waits(_running_on(list(met), events), ended)


Event = tuple[date, str, int]  # the day, a sac or a molt, and the sac's key


def _events(ids: Sequence[int]) -> dict[int, list[Event]]:
    """Sacs and molts of each female, in order."""
    found: dict[int, list[Event]] = {pk: [] for pk in ids}
    for model, kind, of in ((EggSac, "sac", "female"), (Molt, "molt", "specimen")):
        rows = model._default_manager.filter(**{f"{of}__in": ids})
        for pk, female, earliest, latest in rows.values_list("pk", of, "earliest", "latest"):
            found[female].append((FuzzyDate(earliest, latest).middle, kind, pk))
    return {pk: sorted(events) for pk, events in found.items()}


def _next(met: Sequence[date], events: Sequence[Event]) -> Iterator[tuple[int, Ending]]:
    """Of every sac after which she was not paired anew: what came next."""
    paired, before = False, date.min
    laid: tuple[date, int] | None = None
    for day, kind, pk in events:
        anew = any(before < one < day for one in met)
        if laid is not None and not anew and day > laid[0]:
            yield laid[1], Ending(day, came=kind == "sac")
        paired = anew or (paired and kind == "sac")
        laid = (day, pk) if kind == "sac" and paired else None
        before = day


def _running_on(ids: Sequence[int], events: Mapping[int, Sequence[Event]]) -> dict[forecasting.Key, Running]:
    """Females that may lay once more, and are here."""
    held = {pk: one for pk, one in pairings.inseminations(ids).items() if one.laid is not None}
    females = Specimen.objects.filter(pk__in=list(held)).here().for_display()
    records = pairings.taxon_records({female.taxon_id for female in females}, timezone.localdate()) if held else {}
    widened = ForecastWidth.objects.factor("again") if held else 1.0
    found = {}
    for female in females:
        one = held[female.pk]
        last = max(pk for day, kind, pk in events[female.pk] if kind == "sac" and day == one.waits_from.middle)
        promise = partial(_promise, female, one, records.get(female.taxon_id, TaxonRecord()), widened)
        found[female.pk, last] = Running(one.waits_from.middle, promise)
    return found


forecasting.register(ForecastKind("again", "One sac to the next", "next sac", seconds, "a molt came first", order=21))
forecasting.register(ForecastKind("sac", "Pairing to sac", "sac", sacs, "a molt came first", order=20))
