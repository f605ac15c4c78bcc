"""Keeps every forecast that is shown, with its day, and settles it when the event comes.

One row a wait. A forecast counts as first shown: later evidence does not improve it after the fact. Only while it is
young (`YOUNG_DAYS`) it follows corrections, since then the record of the molt or pairing is still being written. One
made when its window was over promises nothing and is not kept; one whose event turns out to lie on or before the day
it was made has forecast nothing and goes. `dues.refresh` calls this whenever it works an animal out anew, never for a
meal. All but the day of making follows from the events, so running it again changes nothing.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from django.utils import timezone

from collection import forecasting, intervals, scorecard, scoring
from collection.forecasting import Ending, Promise, Running, Waits
from collection.models import Death, Departure, Forecast, ForecastWidth

YOUNG_DAYS = 7
LONGEST_DAYS = 36525.0  # a tail beyond a century is kept as a century
MOVED = 0.01  # quantiles that move by less are the same forecast
WRITTEN = ["origin_on", "made_on", "closes_on", "quantiles", "chance", "widened"]
SETTLED = ["outcome", "settled_on", "place", "off_days", "crps_days", "early_loss", "late_loss"]


def refresh(ids: Sequence[int], today: date | None = None) -> None:
    """Keep what is shown of these animals now, and settle what has ended."""
    day = today or timezone.localdate()
    rows: dict[str, list[Forecast]] = defaultdict(list)
    for row in Forecast.objects.filter(specimen__in=ids):
        rows[row.kind].append(row)
    leaves = _leaves({row.specimen_id for kept in rows.values() for row in kept})
    for kind in forecasting.kinds():
        _refresh_kind(kind.name, kind.waits(ids), rows[kind.name], leaves, day)


def _refresh_kind(
    kind: str, waits: Waits, rows: Sequence[Forecast], leaves: Mapping[int, Sequence[date]], today: date
) -> None:
    gone: list[int] = []
    settled: list[Forecast] = []
    moved: list[Forecast] = []
    for row in rows:
        if not _settle(row, waits, leaves.get(row.specimen_id, ()), settled):
            gone.append(row.pk)
        elif row.made_on > today - timedelta(days=YOUNG_DAYS) and not row.outcome:
            _renew(row, waits.running[row.specimen_id, row.origin], today, moved)
    known = {(row.specimen_id, row.origin) for row in rows}
    new = [(key, wait) for key, wait in waits.running.items() if key not in known]
    if gone:
        Forecast.objects.filter(pk__in=gone).delete()
    Forecast.objects.bulk_update(settled, SETTLED)
    Forecast.objects.bulk_update(moved, WRITTEN)
    Forecast.objects.bulk_create([row for key, wait in new for row in made(kind, key, wait, today)])


def review(today: date | None = None) -> bool:
    """Judge each kind by all its forecasts whose window is over, and widen those that surely hold too little.

    Says whether a width changed: then every forecast of its kind is to be worked out anew. Settle before.
    """
    day = today or timezone.localdate()
    before = dict(ForecastWidth.objects.values_list("kind", "factor"))
    widths = {kind.name: scorecard.width(outcomes_of(kind.name, day)) for kind in forecasting.kinds()}
    wide = {kind: found for kind, found in widths.items() if found.factor > 1}
    ForecastWidth.objects.exclude(kind__in=list(wide)).delete()
    for kind, found in wide.items():
        values = {"factor": found.factor, "held": found.held, "forecasts": found.forecasts}
        ForecastWidth.objects.update_or_create(kind=kind, defaults=values)
    return before != {kind: found.factor for kind, found in wide.items()}


def outcomes_of(kind: str, today: date, taxon: int | None = None) -> list[scorecard.Outcome]:
    """What became of the forecasts of a kind whose window is over; something else coming instead is no wrong day."""
    rows = Forecast.objects.closed(today).filter(kind=kind).exclude(outcome=Forecast.Outcome.INSTEAD.value)
    if taxon is not None:
        rows = rows.filter(specimen__taxon=taxon)
    return [
        scorecard.Outcome(scorecard.LATE if place is None else place, outcome == Forecast.Outcome.CAME.value, widened)
        for outcome, place, widened in rows.values_list("outcome", "place", "widened")
    ]


def _leaves(ids: Iterable[int]) -> Mapping[int, list[date]]:
    """The days on which each animal died or left; none is forecast of one that is away."""
    found: dict[int, list[date]] = defaultdict(list)
    if ids := set(ids):
        for pk, day in Death.objects.filter(specimen__in=ids).values_list("specimen_id", "latest"):
            found[pk].append(day)
        for pk, day in Departure.objects.filter(specimen__in=ids).values_list("specimen_id", "on"):
            found[pk].append(day)
    return found


def _settle(row: Forecast, waits: Waits, leaves: Sequence[date], changed: list[Forecast]) -> bool:
    """Write into the row what became of it; False when it has forecast nothing, or its wait is no more."""
    key = (row.specimen_id, row.origin)
    ending = waits.ended.get(key)
    away = min((day for day in leaves if day > row.origin_on), default=None)
    if ending is None and key not in waits.running and away is None:
        return False
    outcome, day = _end(ending, away)
    if day is not None and day <= row.made_on:
        return False
    before = [getattr(row, name) for name in SETTLED]
    row.outcome, row.settled_on = outcome, day
    row.place = row.off_days = row.crps_days = row.early_loss = row.late_loss = None
    if day is not None:
        _score(row, float((day - row.origin_on).days))
    if [getattr(row, name) for name in SETTLED] != before:
        changed.append(row)
    return True


def _end(ending: Ending | None, away: date | None) -> tuple[str, date | None]:
    """Whichever came first."""
    if ending is not None and (away is None or ending.on <= away):
        return (Forecast.Outcome.CAME if ending.came else Forecast.Outcome.INSTEAD).value, ending.on
    return (Forecast.Outcome.ENDED.value, away) if away is not None else ("", None)


def _score(row: Forecast, days: float) -> None:
    row.place = round(scoring.normal_score(days, scoring.LEVELS, row.quantiles), 4)
    if row.outcome == Forecast.Outcome.CAME.value:
        middle = row.quantiles[scoring.LEVELS.index(0.5)]
        row.off_days = round(days - middle, 2)
        low, high = (row.quantiles[scoring.LEVELS.index(level)] for level in (0.1, 0.9))
        row.early_loss = round(scoring.pinball(days, low, 0.1), 2)
        row.late_loss = round(scoring.pinball(days, high, 0.9), 2)
        row.crps_days = round(scoring.crps_quantiles(days, scoring.LEVELS, row.quantiles), 2)


def _renew(row: Forecast, wait: Running, today: date, changed: list[Forecast]) -> None:
    """Let a young forecast follow a corrected record."""
    for new in made(row.kind, (row.specimen_id, row.origin), wait, today):
        pairs = zip(row.quantiles, new.quantiles, strict=True)
        if row.origin_on == new.origin_on and all(abs(a - b) <= MOVED * b for a, b in pairs):
            return
        for name in WRITTEN:
            setattr(row, name, getattr(new, name))
        changed.append(row)


def made(kind: str, key: tuple[int, int], wait: Running, today: date) -> Iterator[Forecast]:
    """The row of a new forecast, unless its window is over already."""
    promise = wait.promise() if wait.since <= today else None
    if promise is None:
        return
    elapsed = (today - wait.since).days
    if elapsed >= promise.forecast.quantile(0.95):
        return
    days = [
        round(min(day, LONGEST_DAYS), 2)
        for day in intervals.quantiles(promise.forecast, scoring.LEVELS, float(elapsed))
    ]
    yield Forecast(
        specimen_id=key[0],
        kind=kind,
        origin=key[1],
        origin_on=wait.since,
        made_on=today,
        closes_on=wait.since + timedelta(days=math.ceil(days[scoring.LEVELS.index(0.95)])),
        quantiles=days,
        chance=_chance_now(promise, elapsed),
        widened=promise.widened,
    )


def _chance_now(promise: Promise, elapsed: int) -> float | None:
    """The chance that it comes at all, it not having come in the time elapsed."""
    if promise.chance is None:
        return None
    left = promise.chance * promise.forecast.survival(elapsed)
    return round(left / (left + 1 - promise.chance), 4) if promise.chance < 1 else 1.0
