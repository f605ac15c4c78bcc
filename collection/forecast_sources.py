"""The forecast of the bottom app that is kept and scored: the next molt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import partial
from itertools import pairwise

from collection import forecasting, standing
from collection.dates import FuzzyDate
from collection.forecasting import Ending, ForecastKind, Promise, Running, Waits
from collection.models import ForecastWidth, Molt, Specimen
from collection.querysets import HERE


def molts(ids: Sequence[int]) -> Waits:
    """Each molt on record begins a wait, which the next one ends; the last runs where a next is forecast."""
    dated = defaultdict(list)
    rows = Molt.objects.filter(specimen__in=ids).values_list("specimen_id", "pk", "earliest", "latest")
    for animal, pk, earliest, latest in rows:
        dated[animal].append((FuzzyDate(earliest, latest).middle, pk))
    ended = {
        (animal, pk): Ending(after, came=True)
        for animal, found in dated.items()
        for (_, pk), (after, _) in pairwise(sorted(found))
    }
    widened = ForecastWidth.objects.factor("molt") if dated else 1.0
    waiting = Specimen.objects.filter(
        pk__in=list(dated), standing__molt_begins__isnull=False, standing__status__in=HERE
    )
    running = {}
    for specimen in waiting.for_display().prefetch_related("molts"):
        since, pk = max(dated[specimen.pk])
        running[specimen.pk, pk] = Running(since, partial(_promise, specimen, widened))
    return Waits(running, ended)


def _promise(specimen: Specimen, widened: float) -> Promise | None:
    outlook = standing.molt_outlook(specimen, widened)
    return Promise(outlook.forecast, widened=widened) if outlook else None


forecasting.register(ForecastKind("molt", "Next molt", "molt", molts, order=10))
