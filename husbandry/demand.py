"""How much prey will be eaten in the coming days, and how much to keep so that it suffices.

Each animal is a chain of offers: an offer is taken with the chance of acceptance and the next follows after the rhythm,
or it is not taken and is repeated sooner. Mean and variance of what is eaten up to each day follow from that chain
exactly, by renewal equations worked out backwards from the horizon (Feller, *An Introduction to Probability Theory*,
vol. 1, chapter XIII). How many of all animals together is then read from a Poisson law, or from a negative binomial
where the variance is above the mean (several prey a meal, a batch of hungry groups), but never above what is eaten if
every offer is taken. A steady rhythm varies less than a Poisson count, so the law errs on the side of plenty.

Days are whole days from today, which is day 0; numbers are animals of prey. Limits: animals are taken to feed
independently of each other, and prey that dies in its tub is not counted. Only `scipy.special` is used.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import numpy as np

DAYS = 28
CONFIDENCE = 0.95
MOST = 10**9  # nobody keeps more of one feeder
PRIOR_OFFERS = 10.0  # assumption: what the house is known for weighs as much as ten offers to one animal


class Prey(NamedTuple):
    """A feeder: its kind and its length in mm, where sizes are told apart."""

    kind: str
    mm: float | None = None


class Mouth(NamedTuple):
    """One animal that is fed: how much of what, when next, how often, and how surely it takes it.

    `first`: days from today to the next offer, 0 also when overdue. `interval`: days from a meal to the next, `retry`:
    days after an offer that was not taken. `held`: days on which nothing is offered, from one up to, not including,
    the other.
    """

    prey: Prey
    number: int
    first: int
    interval: int
    retry: int
    acceptance: float
    held: tuple[int, int] | None = None


@dataclass(frozen=True)
class Outlast:
    """Days from today until a stock runs out: `early` with the spare of the confidence asked for, `likely` evens.

    None: not within the horizon.
    """

    early: int | None
    likely: int | None


@dataclass(frozen=True)
class Need:
    """What is eaten of one feeder: expected on each day; mean, variance and most of what is eaten up to each day."""

    prey: Prey
    mouths: int
    by_day: tuple[float, ...]
    mean: tuple[float, ...]
    variance: tuple[float, ...]
    most: tuple[int, ...]  # eaten up to each day if everything offered is taken: more can never be wanted

    @property
    def total(self) -> float:
        """What is expected to be eaten in all these days."""
        return self.mean[-1]

    @property
    def ample(self) -> int:
        """What suffices for all of them with the usual confidence."""
        return self.stock(len(self.mean))

    @property
    def weeks(self) -> tuple[float, ...]:
        """What is expected to be eaten in each week."""
        return tuple(sum(self.by_day[day : day + 7]) for day in range(0, len(self.by_day), 7))

    def stock(self, days: int, confidence: float = CONFIDENCE) -> int:
        """Return the number that suffices for the first `days` days with the given confidence."""
        if not 1 <= days <= len(self.mean):
            raise ValueError(f"The forecast reaches {len(self.mean)} days, not {days}.")
        return min(stock_for(self.mean[days - 1], confidence, self.variance[days - 1]), self.most[days - 1])

    def lasts(self, stock: int, confidence: float = CONFIDENCE) -> Outlast:
        """Return when a stock runs out; a stock of nothing has run out on the first day on which prey is wanted."""
        held = max(stock, 0)
        days = zip(self.mean, self.variance, self.most, strict=True)
        suffices = [1.0 if held >= most else chance_enough(held, mean, spread) for mean, spread, most in days]
        early = next((day for day, chance in enumerate(suffices) if chance < confidence), None)
        return Outlast(early, next((day for day, chance in enumerate(suffices) if chance < 0.5), None))


def stock_for(mean: float, confidence: float, variance: float | None = None) -> int:
    """Return the smallest number that suffices with at least the given confidence.

    `mean`: how many are expected to be eaten, 0 to 10^9. `variance`: of the same; above the mean the count is negative
    binomial with n = mean² / (variance − mean), p = mean / variance, else (or None) Poisson, which errs on the side of
    plenty. Errors: ValueError for a mean or variance that is negative or no number, or a confidence outside 0 to 1.
    Checked against scipy.stats and the worked cases R10.2 and R10.3.
    """
    _check(mean, variance)
    if not 0 < confidence < 1:
        raise ValueError("A confidence lies between 0 and 1, such as 0.95.")
    low, high = -1, max(math.ceil(mean), 1)
    while chance_enough(high, mean, variance) < confidence:
        low, high = high, high * 2 + 1
    while high - low > 1:
        middle = (low + high) // 2
        if chance_enough(middle, mean, variance) < confidence:
            low = middle
        else:
            high = middle
    return high


def chance_enough(stock: int, mean: float, variance: float | None = None) -> float:
    """Return the chance that no more than `stock` are eaten; arguments and errors as in `stock_for`."""
    from collection.special import betainc, pdtr

    _check(mean, variance)
    if stock < 0:
        return 0.0
    if mean == 0:
        return 1.0
    if variance is None or not _spread_out(mean, variance):
        return float(pdtr(stock, mean))
    return float(betainc(mean * mean / (variance - mean), stock + 1.0, mean / variance))


def learn_use(eaten: int, days: float, *, prior_eaten: float, prior_days: float) -> tuple[float, float]:
    """Return mean and variance of how many are eaten in one of those days, from how many were eaten in `days`.

    Gamma belief in the rate, worth `prior_eaten` in `prior_days`; the count of the next day is then negative binomial.
    Any unit of time will do as long as it is the same. Errors: ValueError for what is negative or a time of nothing.
    Checked against R10.4.
    """
    if eaten < 0 or days < 0 or prior_eaten <= 0 or prior_days <= 0:
        raise ValueError("Numbers eaten and days must not be negative, and the belief before must be worth something.")
    shape, rate = prior_eaten + eaten, prior_days + days
    mean = shape / rate
    return mean, mean * (1 + 1 / rate)


def acceptance(taken: int, offers: int, refusals: int = 0) -> float:
    """Return the chance that an offer is taken: the house's share, pulled down by an animal's refusals in a row.

    `taken` of `offers` in the whole house, each from 0; a Beta belief worth one offer at nine in ten before them, and
    worth `PRIOR_OFFERS` for one animal. Rounded to 0.05, which is far below what such a share is known to. Errors:
    ValueError for counts that cannot be.
    """
    if not 0 <= taken <= offers or refusals < 0:
        raise ValueError("Of so many offers, no more can have been taken, and none of the numbers is negative.")
    house = (taken + 0.9) / (offers + 1)
    own = house * PRIOR_OFFERS / (PRIOR_OFFERS + refusals)
    return min(max(round(own * 20) / 20, 0.05), 1.0)


def forecast(mouths: Iterable[Mouth], days: int = DAYS) -> list[Need]:
    """Return what is eaten in the coming `days`, feeder by feeder, the most wanted first.

    Errors: ValueError for a rhythm below a day, a number below one, a feed that lies in the past, an acceptance outside
    0 to 1, a hold that ends before it begins.
    """
    import numpy as np

    if days < 1:
        raise ValueError("A forecast looks at least one day ahead.")
    counted = Counter(mouths)
    for mouth in counted:
        _check_mouth(mouth)
    chains = list(dict.fromkeys(mouth[3:] for mouth in counted))
    first_moment, second_moment = _moments(chains, days)
    most: dict[Any, Any] = {}
    index = {chain: number for number, chain in enumerate(chains)}
    sums: dict[Prey, Any] = {}
    for mouth, several in counted.items():
        at = index[mouth[3:]]
        one = sums.setdefault(mouth.prey, [0, np.zeros(days), np.zeros(days), np.zeros(days)])
        one[0] += several
        if mouth.first < days:
            mean = first_moment[mouth.first, at]
            one[1] += several * mouth.number * mean
            one[2] += several * mouth.number**2 * (second_moment[mouth.first, at] - mean**2)
            one[3] += several * mouth.number * _all_taken(mouth, days, most)
    needs = [_need(prey, *found) for prey, found in sums.items()]
    return sorted(needs, key=lambda need: (-need.mean[-1], need.prey.kind, need.prey.mm or 0))


def _moments(chains: Sequence[tuple[Any, ...]], days: int) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """First and second moment of the meals taken from an offer on day d up to day k: arrays [d, chain, k]."""
    import numpy as np

    count = len(chains)
    interval, retry = (np.array([chain[at] for chain in chains], dtype=int) for at in (0, 1))
    taken = np.array([chain[2] for chain in chains], dtype=float)[:, None]
    begins, ends = (np.array([(chain[3] or (days, days))[at] for chain in chains], dtype=int) for at in (0, 1))
    one, two = np.zeros((days + 1, count, days)), np.zeros((days + 1, count, days))
    rows = np.arange(count)
    for day in range(days - 1, -1, -1):
        fed, again = np.minimum(day + interval, days), np.minimum(day + retry, days)
        one[day] = taken * (1 + one[fed, rows]) + (1 - taken) * one[again, rows]
        two[day] = taken * (1 + 2 * one[fed, rows] + two[fed, rows]) + (1 - taken) * two[again, rows]
        one[day, :, :day] = two[day, :, :day] = 0  # up to a day before this one nothing of it is eaten
        held = rows[(begins <= day) & (day < ends)]
        later = np.minimum(ends[held], days)
        one[day, held], two[day, held] = one[later, held], two[later, held]
    return one, two


def _all_taken(mouth: Mouth, days: int, known: dict[Any, Any]) -> np.ndarray[Any, Any]:
    """How many meals there are up to each day if every offer is taken; worked out once for all that feed alike."""
    import numpy as np

    alike = mouth.first, mouth.interval, mouth.held
    found: np.ndarray[Any, Any] | None = known.get(alike)
    if found is None:
        found, day = np.zeros(days), mouth.first
        while day < days:
            if mouth.held and mouth.held[0] <= day < mouth.held[1]:
                day = mouth.held[1]
                continue
            found[day:] += 1
            day += mouth.interval
        known[alike] = found
    return found


def _need(prey: Prey, mouths: int, mean: Any, variance: Any, most: Any) -> Need:
    by_day = [max(float(n), 0.0) for n in (mean[0], *(mean[1:] - mean[:-1]))]
    spread = tuple(max(float(n), 0.0) for n in variance)
    all_of_it = tuple(round(float(n)) for n in most)
    return Need(prey, mouths, tuple(by_day), tuple(float(n) for n in mean), spread, all_of_it)


def _spread_out(mean: float, variance: float) -> bool:
    """Whether the variance is above the mean by more than rounding, so that the negative binomial is defined."""
    return variance - mean > 1e-9 * max(mean, 1.0)


def _check(mean: float, variance: float | None) -> None:
    if not 0 <= mean <= MOST:
        raise ValueError("The number expected must be zero or more, and below a thousand million.")
    if variance is not None and not 0 <= variance < math.inf:
        raise ValueError("A variance must be a number, and not negative.")


def _check_mouth(mouth: Mouth) -> None:
    if mouth.interval < 1 or mouth.retry < 1:
        raise ValueError("A feeding rhythm is at least one day.")
    if mouth.number < 1:
        raise ValueError("A meal is at least one prey animal.")
    if mouth.first < 0:
        raise ValueError("The next feed cannot lie in the past; what is overdue is fed on day 0.")
    if not 0 <= mouth.acceptance <= 1:
        raise ValueError("A chance lies between 0 and 1.")
    if mouth.held is not None and mouth.held[1] < mouth.held[0]:
        raise ValueError("The hold ends before it begins.")
