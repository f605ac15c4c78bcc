"""Sac or molt: for one paired female, which comes first, and when.

Days are counted from the last pairing since her last molt. The sac time is log-normal with the taxon's range as prior
(its ends read as the middle 80 %: an assumption), moved by the keeper's own pairings of the taxon; the molt time is the
forecast of her own molts. Whether a sac comes at all is a Beta belief. A sign speaks of the next 30 days: it multiplies
the odds that a sac comes within them by its ratio (`breeding/signs.py`); what follows for fewer days, for the molt and
for the end is Bayes' rule, so that no chance ever passes one that must be larger.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from breeding.signs import DEFAULT, SignWeight, sign_ratio
from collection.dates import FuzzyDate
from collection.intervals import IntervalForecast, IntervalPrior, Race, Survival, race, update, widen, with_chance
from collection.tabulated import tabulated

DAYS_A_MONTH = 365.2425 / 12
MIDDLE_80 = 2 * 1.2815515655446004
PRIOR_RECORDS = 2.0  # assumption: the taxon's range weighs as much as two pairings of the keeper's own
PRIOR_SHAPE = 3.0
SHORTEST_SPREAD = 0.15  # a range with equal ends still has a spread

SUCCESS = (2.0, 1.0)  # assumption: belief that a pairing ends in a sac before any record, worth three pairings
SEEN_INSERTIONS = 1.5  # assumption: insertions seen count as so many successes
SEEN_NONE = 2.0  # assumption: a watched meeting without insertion counts as so many failures

SIGN_DAYS = 30  # assumption: a sign speaks of so many days, and an older one says nothing
SOON_DAYS = 14
LONGEST_WAIT_DAYS = 5 * 365  # assumption: nobody waits longer; after many failures the tail leaves the calendar
DUE_CHANCE = 0.2  # below this chance of a sac at all she is not called due


@dataclass(frozen=True)
class TaxonRecord:
    """The keeper's own pairings of a taxon: days to a sac; days that ended without one; how many worked and failed.

    `running`: each female that waits and since how many days; she died or left after so many: `censored` alone, for it
    was no failure. `again`: the same of second broods of one mating, counted from the first.
    """

    intervals: tuple[float, ...] = ()
    censored: tuple[float, ...] = ()
    successes: int = 0
    failures: int = 0
    running: tuple[tuple[int, float], ...] = ()
    again: "TaxonRecord | None" = None

    def for_female(self, pk: int, prior: IntervalPrior) -> "TaxonRecord":
        """The record as it speaks of one female: waits of others that run enter as censored, her own does not.

        Each counts at most until the end of the taxon's window: one that runs on after it has rather failed than to be
        a sac that takes so long, and a wait cut shorter than it was seen is still a true record.
        """
        longest = prior.median_days * math.exp(prior.spread * MIDDLE_80 / 2)
        others = tuple(min(days, longest) for female, days in self.running if female != pk)
        return replace(self, censored=self.censored + others, running=()) if self.running else self


@dataclass(frozen=True)
class SacOutlook:
    """What to expect of a paired female, for one day."""

    opens: date
    likely_from: date
    likely_until: date
    closes: date
    soon: Race  # sac, molt, neither within 14 days
    month: Race  # the same within 30 days
    ever: Race  # in the end; neither: she waits in vain without a molt
    molt_known: bool
    due: bool
    signs: tuple[str, ...]
    plain: Race | None = None  # within 30 days, before any sign was weighed
    ratio: float = 1.0  # of all signs together

    @property
    def sac_soon(self) -> float:
        """Chance of a sac within 14 days."""
        return self.soon.first_a

    @property
    def molt_first(self) -> float:
        """Chance that the molt comes first, in the end."""
        return self.ever.first_b


def sac_prior(months_min: float | None, months_max: float | None) -> IntervalPrior | None:
    """The prior of days from pairing to sac from the taxon's range in months; None where the table has no figure."""
    if not months_min or not months_max or months_max < months_min:
        return None
    spread = max(math.log(months_max / months_min) / MIDDLE_80, SHORTEST_SPREAD)
    return IntervalPrior(math.sqrt(months_min * months_max) * DAYS_A_MONTH, PRIOR_RECORDS, spread, PRIOR_SHAPE)


@lru_cache(maxsize=512)
def sac_forecast(
    prior: IntervalPrior,
    intervals: tuple[float, ...] = (),
    censored: tuple[float, ...] = (),
    widened: float = 1.0,
) -> IntervalForecast:
    """The sac time after the keeper's own records; kept, because a dashboard asks for the same again and again.

    `widened`: how many times wider its windows are made, because those shown before held too little.
    """
    return tabulated(widen(update(prior, intervals, censored), widened))


def wait_window(forecast: IntervalForecast, level: float) -> tuple[int, int]:
    """The window of the wait in whole days, at most `LONGEST_WAIT_DAYS`."""
    low, high = forecast.window(level)
    return round(min(low, LONGEST_WAIT_DAYS)), round(min(high, LONGEST_WAIT_DAYS))


def success_chance(record: TaxonRecord, insertions: int | None, belief: tuple[float, float] = SUCCESS) -> float:
    """The belief that this pairing ends in a sac, from what was seen and from the keeper's own pairings."""
    good, bad = belief[0] + record.successes, belief[1] + record.failures
    if insertions is not None:
        good, bad = (good + SEEN_INSERTIONS, bad) if insertions else (good, bad + SEEN_NONE)
    return good / (good + bad)


def shift(chances: Race, month: Race, ratio: float) -> Race:
    """Weigh signs: `month` is the race within 30 days, whose odds of a sac the ratio multiplies; `chances` any race.

    A race no longer than the month keeps its part of the month's sacs; a longer one keeps its part of the rest as well.
    """
    sac = month.first_a
    if ratio == 1 or not 0.0 < sac < 1.0:
        return chances
    moved = sac * ratio / (1 - sac + sac * ratio)
    inside, rest = moved / sac, (1 - moved) / (1 - sac)
    first = min(chances.first_a, sac) * inside + max(chances.first_a - sac, 0.0) * rest
    second = chances.first_b * rest
    return Race(first, second, max(0.0, 1 - first - second))


def spread_start(survival: Survival, offsets: Sequence[float]) -> Survival:
    """The survival when the start is known only to a range: the mean over possible starts, so many days before."""
    if len(offsets) == 1:
        return lambda days: survival(_not_before(days + offsets[0]))
    return lambda days: sum(survival(_not_before(days + offset)) for offset in offsets) / len(offsets)


def _not_before(days: Any) -> Any:
    """Days since a start, never negative; for a number or an array."""
    return days * (days > 0)


def outlook(
    paired: FuzzyDate,
    today: date,
    sac: IntervalForecast,
    chance: float,
    *,
    molt: IntervalForecast | None = None,
    last_molt: date | None = None,
    signs: Sequence[str] = (),
    weights: Mapping[str, SignWeight] = DEFAULT,
) -> SacOutlook:
    """The race of sac against molt on one day. Without a known molt only the sac is forecast.

    Errors: ValueError when today lies before the pairing.
    """
    if today < paired.earliest:
        raise ValueError("The pairing lies after the day asked for.")
    ratio = sign_ratio(signs, weights)
    return replace(_outlook(paired, today, sac, chance, molt, last_molt, ratio), signs=tuple(signs))


@lru_cache(maxsize=256)
def _outlook(
    paired: FuzzyDate,
    today: date,
    sac: IntervalForecast,
    chance: float,
    molt: IntervalForecast | None,
    last_molt: date | None,
    ratio: float,
) -> SacOutlook:
    """The race of one day; kept, because a dashboard asks for the same again and again."""
    start = paired.middle
    elapsed = max((today - start).days, 0)
    comes, molts = clocks(paired, sac, chance, molt, last_molt)
    month, ever = race(comes, molts, elapsed, SIGN_DAYS), race(comes, molts, elapsed, math.inf)
    (opens, closes), (from_, until) = wait_window(sac, 0.8), wait_window(sac, 0.5)
    opening, closing = paired.earliest + timedelta(days=opens), paired.latest + timedelta(days=closes)
    in_the_end = shift(ever, month, ratio)
    return SacOutlook(
        opens=opening,
        likely_from=start + timedelta(days=from_),
        likely_until=start + timedelta(days=until),
        closes=closing,
        soon=shift(race(comes, molts, elapsed, SOON_DAYS), month, ratio),
        month=shift(month, month, ratio),
        ever=in_the_end,
        molt_known=molt is not None,
        due=opening <= today <= closing and in_the_end.first_a >= DUE_CHANCE,
        signs=(),
        plain=month,
        ratio=ratio,
    )


def clocks(
    paired: FuzzyDate, sac: IntervalForecast, chance: float, molt: IntervalForecast | None, last_molt: date | None
) -> tuple[Survival, Survival]:
    """The two clocks that race, a sac and her molt, both counted in days since the middle of the pairing."""
    start = paired.middle
    starts = [start] if paired.exact else [paired.earliest, start, paired.latest]
    comes = spread_start(with_chance(sac.survival, chance), [float((start - day).days) for day in starts])
    return comes, _molt_survival(molt, start, last_molt)


def sac_before_molt(sac: IntervalForecast, molt: IntervalForecast | None, last_molt: date | None, day: date) -> float:
    """Were she paired on this day and a sac to come: the chance that it comes before her molt."""
    if molt is None or last_molt is None:
        return 1.0
    try:
        return race(sac.survival, _molt_survival(molt, day, last_molt), 0, math.inf).first_a
    except ValueError:  # she is so long over her time that a molt is certain
        return 0.0


def _molt_survival(molt: IntervalForecast | None, start: date, last_molt: date | None) -> Survival:
    """Her molt clock, counted in days since the pairing."""
    if molt is None or last_molt is None:
        return lambda days: days * 0 + 1.0
    return spread_start(molt.survival, [float(max((start - last_molt).days, 0))])
