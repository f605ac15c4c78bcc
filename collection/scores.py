"""How often forecasts were right, by kind and taxon: rows that are over, counted and scored."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Avg
from django.db.models.functions import Abs

from collection import forecasting, scorecard, scoring
from collection.forecasting import ForecastKind
from collection.models import Forecast, ForecastWidth
from collection.querysets import ForecastQuerySet
from collection.scorecard import Held, Outcome

LATEST = 15
MANY = 400
BAND = 0.8  # the window that is shown first and told of in the tables
MEANS = {"off": Avg(Abs("off_days")), "early": Avg("early_loss"), "late": Avg("late_loss"), "crps": Avg("crps_days")}
CAME, INSTEAD, ENDED = (outcome.value for outcome in Forecast.Outcome)


@dataclass(frozen=True)
class Losses:
    """Mean scores over what came, in days; 0 would be to the day."""

    off: float
    early: float
    middle: float
    late: float
    crps: float


@dataclass(frozen=True)
class TaxonScore:
    """One taxon of a kind."""

    taxon: str
    came: int
    held: Held | None
    losses: Losses | None


@dataclass(frozen=True)
class Chance:
    """Forecasts that said how likely it was to come at all: what was said on average, and what came."""

    said: float
    came: int
    ended: int
    brier: float


@dataclass(frozen=True)
class KindScore:
    """One kind of forecast: how many, what became of them, how often each window held, how far off they were."""

    kind: ForecastKind
    running: int
    over: int
    came: int
    cut_short: int
    instead: int
    late: int
    sooner: int
    held: list[Held]
    losses: Losses | None
    chance: Chance | None
    taxa: list[TaxonScore]
    width: ForecastWidth | None

    @property
    def few(self) -> bool:
        """Whether so few are decided that a rate says little: with `MANY` one of 80 % is known to ±4."""
        return bool(self.held) and max(held.decided for held in self.held) < MANY

    @property
    def roomy(self) -> bool:
        """Whether its windows surely hold more than they say."""
        return any(h.coverage.p < 0.01 and h.coverage.rate > h.level for h in self.held)


@dataclass(frozen=True)
class Settled:
    """One forecast that came true or not, with its window as dates."""

    forecast: Forecast
    opens: date
    closes: date
    inside: bool


def of_kinds(today: date, taxon: int | None = None) -> list[KindScore]:
    """Every kind, scored by what is over."""
    rows = Forecast.objects.filter(**({"specimen__taxon": taxon} if taxon else {}))
    widths = {width.kind: width for width in ForecastWidth.objects.all()}
    return [_of_kind(kind, rows.filter(kind=kind.name), today, widths.get(kind.name)) for kind in forecasting.kinds()]


def latest(today: date) -> list[Settled]:
    """What came last, with the window that was told for it."""
    rows = Forecast.objects.filter(outcome=CAME, settled_on__lte=today).select_related("specimen__taxon")
    return [_settled(row) for row in rows.order_by("-settled_on", "-pk")[:LATEST]]


def _settled(row: Forecast) -> Settled:
    low, high = (row.quantiles[scoring.LEVELS.index(level)] for level in (0.1, 0.9))
    days = (row.settled_on - row.origin_on).days if row.settled_on else 0
    opens, closes = (row.origin_on + timedelta(days=round(day)) for day in (low, high))
    return Settled(row, opens, closes, low <= days <= high)


def _of_kind(kind: ForecastKind, rows: ForecastQuerySet, today: date, width: ForecastWidth | None) -> KindScore:
    over = rows.closed(today)
    by_taxon: dict[str, list[Outcome]] = defaultdict(list)
    counts: dict[str, int] = defaultdict(int)
    sooner = 0
    columns = ("outcome", "place", "widened", "specimen__taxon__name")
    for outcome, place, widened, name in over.order_by().values_list(*columns):
        counts[outcome] += 1
        sooner += outcome == CAME and place < 0
        if outcome != INSTEAD:
            by_taxon[name].append(Outcome(scorecard.LATE if place is None else place, outcome == CAME, widened))
    everything = [outcome for found in by_taxon.values() for outcome in found]
    losses = _losses(over)
    return KindScore(
        kind=kind,
        running=rows.filter(closes_on__gte=today).count(),
        over=sum(counts.values()),
        came=counts[CAME],
        cut_short=counts[ENDED],
        instead=counts[INSTEAD],
        late=counts[""],
        sooner=sooner,
        held=[held for level in scorecard.SHOWN_LEVELS if (held := scorecard.held(everything, level))],
        losses=losses.get(""),
        chance=_chance(rows),
        taxa=_taxa(by_taxon, losses),
        width=width,
    )


def _taxa(by_taxon: dict[str, list[Outcome]], losses: dict[str, Losses]) -> list[TaxonScore]:
    scores = [
        TaxonScore(name, sum(o.came for o in found), scorecard.held(found, BAND), losses.get(name))
        for name, found in by_taxon.items()
    ]
    return sorted(scores, key=lambda score: (-score.came, score.taxon))


def _losses(over: ForecastQuerySet) -> dict[str, Losses]:
    """Mean scores by taxon, and of all under an empty name."""
    found = over.filter(outcome=CAME).order_by()
    by_taxon = found.values("specimen__taxon__name").annotate(**MEANS)
    rows: list[tuple[str, Any, Any, Any, Any]] = list(by_taxon.values_list("specimen__taxon__name", *MEANS))
    whole = found.aggregate(**MEANS)
    rows.append(("", *(whole[name] for name in MEANS)))
    return {name: Losses(off, early, off / 2, late, crps) for name, off, early, late, crps in rows if off is not None}


def _chance(rows: ForecastQuerySet) -> Chance | None:
    """Of waits that have ended by themselves: what was said of their coming at all, and how many came."""
    ended = rows.filter(chance__isnull=False, outcome__in=(CAME, INSTEAD)).order_by()
    found = list(ended.values_list("chance", "outcome"))
    if not found:
        return None
    came = sum(outcome == CAME for _, outcome in found)
    said = [(chance or 0.0, outcome == CAME) for chance, outcome in found]
    brier = sum((chance - happened) ** 2 for chance, happened in said) / len(said)
    return Chance(sum(chance for chance, _ in said) / len(said), came, len(said), brier)
