"""What the program would have said at each molt and pairing of the invented collection, on the day it was written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING

from breeding import sacwatch
from breeding.models import EggSac, Meeting
from breeding.sacwatch import TaxonRecord
from breeding.secondclutch import COMMON, lays_again
from collection import forecasts, molting
from collection.forecasting import Promise, Running
from collection.models import Forecast, Molt
from collection.stages import Group, find_stage

if TYPE_CHECKING:
    from config.demo.load import Builder

WRITTEN_AFTER = (0, 0, 1, 3)  # days between a molt and the evening it was logged, in turn


def build(builder: Builder) -> None:
    """Forecasts as they were shown; working everything out settles them."""
    Forecast.objects.bulk_create(
        [*_molts(builder.today), *_sacs(builder.today), *_seconds(builder.today)], batch_size=400
    )


def _molts(today: date) -> Iterator[Forecast]:
    of_animal: dict[int, list[Molt]] = defaultdict(list)
    for molt in Molt.objects.select_related("specimen__taxon").order_by("earliest", "id"):
        of_animal[molt.specimen_id].append(molt)
    number = 0
    for pk, molts in of_animal.items():
        for count, molt in enumerate(molts, start=1):
            number += 1
            day = molt.latest + timedelta(days=WRITTEN_AFTER[number % len(WRITTEN_AFTER)])
            wait = Running(molt.when.middle, partial(_molt_promise, molts[:count]))
            yield from forecasts.made("molt", (pk, molt.pk), wait, min(day, today))


def _molt_promise(molts: list[Molt]) -> Promise | None:
    taxon = molts[-1].specimen.taxon
    group, span = Group(taxon.group), molts[-1].leg_span_mm
    stage = find_stage(group, size_mm=span, adult_size_mm=taxon.adult_size_mm if span else None).stage
    outlook = molting.outlook(group, stage, [molt.when for molt in molts])
    return Promise(outlook.forecast) if outlook else None


def _sacs(today: date) -> Iterator[Forecast]:
    for meeting in Meeting.objects.select_related("pairing__female__taxon").order_by("earliest", "id"):
        taxon = meeting.pairing.female.taxon
        prior = sacwatch.sac_prior(taxon.sac_months_min, taxon.sac_months_max)
        if prior is not None:
            chance = sacwatch.success_chance(TaxonRecord(), meeting.insertions)
            promise = Promise(sacwatch.sac_forecast(prior), chance)
            wait = Running(meeting.when.middle, partial(_same, promise))
            yield from forecasts.made("sac", (meeting.pairing.female_id, meeting.pk), wait, min(meeting.latest, today))


def _seconds(today: date) -> Iterator[Forecast]:
    """What was said of the next sac of one mating, on the day of the one before."""
    for sac in EggSac.objects.select_related("female__taxon").order_by("earliest", "id"):
        again = lays_again(sac.female.taxon.name, Group(sac.female.taxon.group))
        prior = sacwatch.sac_prior(again.months_min, again.months_max) if again else None
        if prior is not None:
            promise = Promise(sacwatch.sac_forecast(prior), COMMON[0] / sum(COMMON))
            wait = Running(sac.when.middle, partial(_same, promise))
            yield from forecasts.made("again", (sac.female_id, sac.pk), wait, min(sac.latest, today))


def _same(promise: Promise) -> Promise:
    return promise
