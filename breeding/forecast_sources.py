"""The forecast of breeding that is kept and scored: the sac after a pairing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from functools import partial

from django.utils import timezone

from breeding import pairings
from breeding.models import Meeting
from breeding.pairings import Insemination
from breeding.sacwatch import TaxonRecord
from collection import forecasting
from collection.forecasting import Ending, ForecastKind, Promise, Running, Waits
from collection.models import ForecastWidth, Specimen


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
            continue  # the wait for a second brood is no wait from a pairing, and is not scored as one
        record = records.get(female.taxon_id, TaxonRecord())
        promise = partial(_promise, female, one, record, widened)
        found[female.pk, one.last.pk] = Running(one.paired.middle, promise)
    return found


def _promise(female: Specimen, one: Insemination, record: TaxonRecord, widened: float) -> Promise | None:
    clock = pairings.clock_of(female, one, record, widened)
    return Promise(clock.forecast, clock.chance, widened) if clock else None


forecasting.register(ForecastKind("sac", "Pairing to sac", "sac", sacs, "a molt came first", order=20))
