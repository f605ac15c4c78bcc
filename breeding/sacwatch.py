"""Sac or molt: for one paired female, which comes first, and when.

Days are counted from the last pairing since her last molt. The sac time is log-normal with the taxon's range as prior
(its ends read as the middle 80 %: an assumption), moved by the keeper's own pairings of the taxon; the molt time is the
forecast of her own molts. Whether a sac comes at all is a Beta belief. Signs multiply the odds of a sac in the coming
days by the likelihood ratios below; no study gives them, so they are assumptions of this program.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from collection.dates import FuzzyDate
from collection.intervals import IntervalForecast, IntervalPrior, Race, Survival, race, update, widen, with_chance

DAYS_A_MONTH = 365.2425 / 12
MIDDLE_80 = 2 * 1.2815515655446004
PRIOR_RECORDS = 2.0  # assumption: the taxon's range weighs as much as two pairings of the keeper's own
PRIOR_SHAPE = 3.0
SHORTEST_SPREAD = 0.15  # a range with equal ends still has a spread

SUCCESS = (2.0, 1.0)  # assumption: belief that a pairing ends in a sac before any record, worth three pairings
SEEN_INSERTIONS = 1.5  # assumption: insertions seen count as so many successes
SEEN_NONE = 2.0  # assumption: a watched meeting without insertion counts as so many failures

SIGN_RATIOS: dict[str, float] = {
    "closed": 2.0,
    "webbing": 2.5,
    "fattening": 1.4,
    "refusing": 1.4,
    "digging": 1.2,
    "bald_dark": 0.4,  # a bald patch that darkens speaks for a molt
    "nothing": 0.8,
}
SIGN_DAYS = 30  # assumption: an older sign says nothing about the coming days
LONGEST_WAIT_DAYS = 5 * 365  # assumption: nobody waits longer; after many failures the tail leaves the calendar
DUE_CHANCE = 0.2  # below this chance of a sac at all she is not called due


@dataclass(frozen=True)
class TaxonRecord:
    """The keeper's own pairings of a taxon: days to a sac; days without one, ended or running; how many of each."""

    intervals: tuple[float, ...] = ()
    censored: tuple[float, ...] = ()
    successes: int = 0
    failures: int = 0


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
    return widen(update(prior, intervals, censored), widened)


def wait_window(forecast: IntervalForecast, level: float) -> tuple[int, int]:
    """The window of the wait in whole days, at most `LONGEST_WAIT_DAYS`."""
    low, high = forecast.window(level)
    return round(min(low, LONGEST_WAIT_DAYS)), round(min(high, LONGEST_WAIT_DAYS))


def success_chance(record: TaxonRecord, insertions: int | None) -> float:
    """The belief that this pairing ends in a sac, from what was seen and from the keeper's own pairings."""
    good, bad = SUCCESS[0] + record.successes, SUCCESS[1] + record.failures
    if insertions is not None:
        good, bad = (good + SEEN_INSERTIONS, bad) if insertions else (good, bad + SEEN_NONE)
    return good / (good + bad)


def sign_ratio(signs: Iterable[str]) -> float:
    """The product of the ratios of the distinct signs; «nothing new» counts only when nothing else was seen."""
    seen = set(signs)
    if len(seen) > 1:
        seen.discard("nothing")
    return math.prod(SIGN_RATIOS.get(sign, 1.0) for sign in seen)


def shift(chances: Race, ratio: float) -> Race:
    """Multiply the odds of a sac by the ratio; the other two keep their proportion."""
    sac = chances.first_a
    if ratio == 1 or sac in (0.0, 1.0):
        return chances
    odds = sac / (1 - sac) * ratio
    moved = odds / (1 + odds)
    rest = (1 - moved) / (1 - sac)
    return Race(moved, chances.first_b * rest, chances.neither * rest)


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
) -> SacOutlook:
    """The race of sac against molt on one day. Without a known molt only the sac is forecast.

    Errors: ValueError when today lies before the pairing.
    """
    start = paired.middle
    if today < paired.earliest:
        raise ValueError("The pairing lies after the day asked for.")
    elapsed = max((today - start).days, 0)
    starts = [paired.middle] if paired.exact else [paired.earliest, paired.middle, paired.latest]
    comes = spread_start(with_chance(sac.survival, chance), [float((start - day).days) for day in starts])
    molts = _molt_survival(molt, start, last_molt)
    ratio = sign_ratio(signs)
    ever = race(comes, molts, elapsed, math.inf)
    (opens, closes), (from_, until) = wait_window(sac, 0.8), wait_window(sac, 0.5)
    opening, closing = paired.earliest + timedelta(days=opens), paired.latest + timedelta(days=closes)
    return SacOutlook(
        opens=opening,
        likely_from=start + timedelta(days=from_),
        likely_until=start + timedelta(days=until),
        closes=closing,
        soon=shift(race(comes, molts, elapsed, 14), ratio),
        month=shift(race(comes, molts, elapsed, 30), ratio),
        ever=ever,
        molt_known=molt is not None,
        due=opening <= today <= closing and ever.first_a >= DUE_CHANCE,
        signs=tuple(signs),
    )


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
