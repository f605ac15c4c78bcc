"""When the next molt is to be expected: a prior by group and stage, moved by the animal's own molts.

Priors: intervals by stage for tarantulas are common practice (spiderling 3–8 weeks, juvenile 2–5 months, subadult 4–9
months, adult female 10–24 months), their trend as in a cohort of *Grammostola vachoni* (Zool. Anz. 293:37–45, 2021);
mantids molt every 2–4 weeks (care pages); true spiders 10–31 days an instar (comparative life histories of *Pardosa
ramulosa* and *P. sierra*). Each range is read as the middle 80 % of a log-normal: an assumption. Groups and stages that
stop molting, or of which nothing is known, have no prior, and then nothing is forecast.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from itertools import pairwise

from collection.dates import FuzzyDate
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
OWN_INTERVALS = 4  # older ones say little about the next
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


def outlook(group: Group, stage: Stage, molts: Sequence[FuzzyDate], widened: float = 1.0) -> MoltOutlook | None:
    """The next molt of an animal from its recorded molts (any order); None where no forecast would be honest.

    `widened`: how many times wider the windows are made, because those shown before held too little.
    """
    start = prior(group, stage)
    if start is None or not molts:
        return None
    inside = sorted(molts)
    lengthening = 1.0 if stage is Stage.ADULT else LENGTHENING
    own = _intervals(inside, lengthening)
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


def _intervals(molts: Sequence[FuzzyDate], lengthening: float) -> list[float | tuple[float, float]]:
    """The latest intervals between neighbouring molts, scaled to the one to come; a vague one stays a range."""
    pairs = list(pairwise(molts))[-OWN_INTERVALS:]
    scaled: list[float | tuple[float, float]] = []
    for age, (before, after) in enumerate(reversed(pairs), start=1):
        factor = lengthening**age
        length = (after.middle - before.middle).days
        blur = (before.latest - before.earliest + (after.latest - after.earliest)).days
        if length <= 0:
            continue
        if blur <= EXACT_ENOUGH * length:
            scaled.append(length * factor)
        else:
            low = max(1, (after.earliest - before.latest).days)
            scaled.append((low * factor, (after.latest - before.earliest).days * factor))
    return scaled
