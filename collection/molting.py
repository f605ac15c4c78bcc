"""When the next molt is to be expected: a prior by group and stage, moved by the animal's own molts.

Priors: intervals by stage for tarantulas are common practice (spiderling 3–8 weeks, juvenile 2–5 months, subadult 4–9
months, adult female 10–24 months), their trend as in a cohort of *Grammostola vachoni* (Zool. Anz. 293:37–45, 2021);
mantids molt every 2–4 weeks (care pages); true spiders 10–31 days an instar (comparative life histories of *Pardosa
ramulosa* and *P. sierra*). Each range is read as the middle 80 % of a log-normal: an assumption. Groups and stages that
stop molting, or of which nothing is known, have no prior, and then nothing is forecast.

Intervals lengthen with size. Inside a stage the middle of its range moves with the animal's share of its adult size,
log against log between the middles of the stages, never out of the stage's range. Old intervals are stretched to the
one to come by a factor: an assumption, drawn to the animal's own as far as its intervals tell it.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from itertools import pairwise

from collection.dates import FuzzyDate
from collection.growth import fit_growth
from collection.intervals import IntervalForecast, IntervalPrior, update, widen
from collection.stages import Group, Stage

MIDDLE_80 = 2 * 1.2815515655446004  # distance of the 10 % and 90 % points of a normal, in standard deviations
RANGES: dict[tuple[Group, Stage], tuple[float, float]] = {
    (Group.TARANTULA, Stage.YOUNG): (21, 56),
    (Group.TARANTULA, Stage.GROWING): (61, 152),
    (Group.TARANTULA, Stage.SUBADULT): (122, 274),
    (Group.TARANTULA, Stage.ADULT): (304, 730),
    (Group.MANTIS, Stage.YOUNG): (14, 28),
    (Group.MANTIS, Stage.GROWING): (14, 28),
    (Group.MANTIS, Stage.SUBADULT): (14, 28),
    (Group.TRUE_SPIDER, Stage.YOUNG): (10, 31),
    (Group.TRUE_SPIDER, Stage.GROWING): (10, 31),
    (Group.TRUE_SPIDER, Stage.SUBADULT): (10, 31),
}
PRIOR_RECORDS = 2.0  # assumption: the prior weighs as much as two of the animal's own intervals
PRIOR_SHAPE = 3.0
LENGTHENING = 1.15  # assumption: each interval of a growing animal is so much longer than the one before
LENGTHENING_SD = 0.1  # assumption: how far the log of that factor differs between animals
INTERVAL_SD = 0.25  # assumption: how far one interval strays from its line, in logs
FEWEST_TO_LENGTHEN = 3  # exact intervals before an animal has a factor of its own
MIDDLES = {Stage.YOUNG: 0.09, Stage.GROWING: 0.37, Stage.SUBADULT: 0.66, Stage.ADULT: 1.0}  # shares of the adult size
OWN_INTERVALS = 4  # older ones say little about the next
OUTLIVED = 0.01  # below this chance of so long a wait the forecast no longer speaks of this animal
LONGEST = 40 * 365.0  # days; beyond it a date says nothing
EXACT_ENOUGH = 0.05  # a date range up to this share of the interval is taken at its middle


@dataclass(frozen=True)
class MoltOutlook:
    """The next molt: the day counted from, the forecast in days after it, and three days of it."""

    last: date
    forecast: IntervalForecast
    begins: date
    likely: date
    ends: date
    own_intervals: int
    widened: float = 1.0  # how much wider than the model the windows were made, for they had held too little


@lru_cache(maxsize=32)
def prior(group: Group, stage: Stage) -> IntervalPrior | None:
    """The prior of the interval in days, or None where nothing is known or the animal molts no more."""
    limits = RANGES.get((group, stage))
    if limits is None:
        return None
    low, high = limits
    return IntervalPrior(math.sqrt(low * high), PRIOR_RECORDS, math.log(high / low) / MIDDLE_80, PRIOR_SHAPE)


def prior_at(group: Group, stage: Stage, part: float | None = None) -> IntervalPrior | None:
    """The same for an animal of `part` of its adult size (same measure for both; None where not known).

    Errors: ValueError for a share that is not above zero.
    """
    start = prior(group, stage)
    if start is None or part is None or stage is Stage.ADULT:
        return start
    if not 0 < part < math.inf:
        raise ValueError(f"A share of the adult size is a number above zero, not {part}.")
    known = [(math.log(MIDDLES[s]), math.log(p.median_days)) for s in MIDDLES if (p := prior(group, s))]
    low, high = RANGES[group, stage]
    days = math.exp(_between(math.log(part), known))
    return IntervalPrior(min(max(days, low), high), start.records, start.spread, start.shape)


def _between(x: float, known: Sequence[tuple[float, float]]) -> float:
    """The height at x of the line through known points, level beyond its ends."""
    if x <= known[0][0]:
        return known[0][1]
    for (left, low), (right, high) in pairwise(known):
        if x <= right:
            return low + (high - low) * (x - left) / (right - left)
    return known[-1][1]


def outlook(
    group: Group,
    stage: Stage,
    molts: Sequence[FuzzyDate],
    widened: float = 1.0,
    *,
    part: float | None = None,
    doubtful: Collection[FuzzyDate] = (),
) -> MoltOutlook | None:
    """The next molt of an animal from its recorded molts (any order); None where no forecast would be honest.

    `part`: its share of the adult size. `doubtful`: molts before which another was probably missed, so that the time
    since the one on record is no interval. `widened`: how many times wider the windows are made, because those shown
    before held too little.
    """
    start = prior_at(group, stage, part)
    if start is None or not molts:
        return None
    inside = sorted(molts)
    factor = 1.0 if stage is Stage.ADULT else lengthening(_exact(inside, doubtful))
    own = _intervals(inside, factor, doubtful)
    forecast = widen(update(start, own), widened)
    last = inside[-1].middle
    low, high = forecast.window(0.8)
    return MoltOutlook(
        last=last,
        forecast=forecast,
        begins=last + timedelta(days=round(low)),
        likely=last + timedelta(days=round(forecast.median)),
        ends=last + timedelta(days=round(high)),
        own_intervals=len(own),
        widened=widened,
    )


def lengthening(intervals: Sequence[float]) -> float:
    """By what factor each interval is longer than the one before: the usual one, drawn to the animal's own.

    `intervals` in days, oldest first. The own factor is that of least squares on the log (published case: 28, 33, 41,
    52, 63 days lengthen by 1.231), weighed by how well so many intervals tell it.
    """
    if len(intervals) < FEWEST_TO_LENGTHEN:
        return LENGTHENING
    fit = fit_growth(list(enumerate(intervals)))
    doubt = INTERVAL_SD**2 / fit.spread
    weight = LENGTHENING_SD**2 / (LENGTHENING_SD**2 + doubt)
    return math.exp(weight * (fit.slope or 0.0) + (1 - weight) * math.log(LENGTHENING))


def still_to_come(seen: MoltOutlook, today: date, level: float = 0.8) -> tuple[date, date, date] | None:
    """When the molt comes now that it has not come by `today`: low, median, high of what is left of the forecast.

    None before the day counted from, and when the wait has outlived the forecast.
    """
    elapsed = (today - seen.last).days
    left = seen.forecast.survival(max(elapsed, 0))
    if elapsed < 0 or left < OUTLIVED:
        return None
    ends = (1 - level) / 2, 0.5, (1 + level) / 2
    low, middle, high = (seen.forecast.quantile(1 - left * (1 - share)) for share in ends)
    if high > LONGEST:
        return None
    first, second, third = (seen.last + timedelta(days=max(round(day), elapsed)) for day in (low, middle, high))
    return first, second, third


def expected(seen: MoltOutlook, today: date, level: float = 0.8) -> tuple[date, date, date] | None:
    """The window to show: the whole forecast until its likeliest day, from then on what is left of it.

    Low, median, high; None when the wait has outlived the forecast.
    """
    if today > seen.likely:
        return still_to_come(seen, today, level)
    low, high = (seen.last + timedelta(days=round(day)) for day in seen.forecast.window(level))
    return low, seen.likely, high


def _exact(molts: Sequence[FuzzyDate], doubtful: Collection[FuzzyDate]) -> list[float]:
    """The intervals of which the length is known well enough to see a trend; those after the latest gap."""
    lengths: list[float] = []
    for before, after in pairwise(molts):
        length = (after.middle - before.middle).days
        if after in doubtful or length <= 0 or _blur(before, after) > EXACT_ENOUGH * length:
            lengths.clear()
        else:
            lengths.append(float(length))
    return lengths


def _blur(before: FuzzyDate, after: FuzzyDate) -> int:
    return before.days + after.days


def _intervals(
    molts: Sequence[FuzzyDate], lengthening: float, doubtful: Collection[FuzzyDate] = ()
) -> list[float | tuple[float, float]]:
    """The latest intervals between neighbouring molts, scaled to the one to come; a vague one stays a range."""
    pairs = list(pairwise(molts))[-OWN_INTERVALS:]
    scaled: list[float | tuple[float, float]] = []
    for age, (before, after) in enumerate(reversed(pairs), start=1):
        factor = lengthening**age
        length = (after.middle - before.middle).days
        if length <= 0 or after in doubtful:
            continue
        if _blur(before, after) <= EXACT_ENOUGH * length:
            scaled.append(length * factor)
        else:
            low = max(1, (after.earliest - before.latest).days)
            scaled.append((low * factor, (after.latest - before.earliest).days * factor))
    return scaled
