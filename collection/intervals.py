"""How long until the next molt, or from pairing to sac: forecasts from a taxon's prior and the keeper's own records.

Model: the log of an interval is normal with unknown mean and spread; the taxon's prior is normal–inverse-gamma and
counts as some records of the keeper's own (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.3). With exact
records alone the forecast is a Student t in closed form; running intervals (right-censored) and dates known only to
a range (interval-censored) are weighed on a grid over mean and log spread. All times are days.

Limits: intervals lengthen with instar, so scale records to one instar before they come here. An interval still
running is either censored here or `elapsed` in `chance_within`, never both.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from numbers import Real
from typing import TYPE_CHECKING, Any

from collection.races import LONGEST_DAYS, Race, Survival, from_zero_up, race, with_chance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "GridForecast",
    "IntervalForecast",
    "IntervalPrior",
    "Race",
    "StudentForecast",
    "Survival",
    "quantiles",
    "race",
    "update",
    "widen",
    "with_chance",
]

Record = float | tuple[float, float]

NARROW_GAP = 0.05  # a range of dates narrower than this part of the interval counts as exact
GRID = 13, 29  # points over mean and log spread; steps near one standard deviation are still exact to 1e-6
FINE_GRID = 25, 61  # for a prior worth less than `FIRM` records, whose long tails a coarse grid misses by up to 1e-3
FIRM = 2.0
GRID_ZOOMS = 3
QUANTILE_CELLS = 256
GRID_REACH = 17.0  # log weight below the peak at which the grid ends


@dataclass(frozen=True)
class IntervalPrior:
    """What is known of a taxon before the keeper's own records.

    `median_days`; `records`: how many own records the prior is worth (2–3 is honest); `spread`: standard deviation
    of the log interval (0.25 is about ±25 %); `shape`: certainty of that spread, half its worth in records.
    Case R5.1 is IntervalPrior(150, 2, 0.25, 3). ValueError for anything not positive and finite.
    """

    median_days: float
    records: float
    spread: float
    shape: float

    def __post_init__(self) -> None:
        """Refuse what is not a positive number."""
        for name in ("median_days", "records", "spread", "shape"):
            _positive(getattr(self, name), f"The prior's {name.replace('_', ' ')}")


class IntervalForecast:
    """The forecast for one interval in days; see `StudentForecast` and `GridForecast`."""

    @property
    def median(self) -> float:
        """Return the day by which the event is as likely past as to come."""
        return self.quantile(0.5)

    def window(self, level: float) -> tuple[float, float]:
        """Return the days between which the event falls with chance `level` (0–1), as much left out on each side."""
        if not 0 < level < 1:
            raise ValueError(f"A window holds a share between 0 and 1, not {level}.")
        return self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)

    def chance_within(self, days: float, elapsed: float) -> float:
        """Return the chance of the event in the next `days`, none having come in `elapsed` days."""
        start, more = from_zero_up(elapsed, "The time elapsed"), from_zero_up(days, "The time ahead")
        return 0.0 if more == 0 else -math.expm1(self._log_survival(start + more) - self._log_survival(start))

    def survival(self, days: Any) -> Any:
        """Return the chance that nothing has come by `days`: a float for a number, an array for an array."""
        import numpy as np

        t = np.asarray(days, dtype=float)
        if not (t >= 0).all():
            raise ValueError("Days must be numbers from zero up.")
        values = self._survival(t)
        return values if t.ndim else float(values)

    def quantile(self, chance: float) -> float:
        """Return the day by which the event has come with `chance`."""
        raise NotImplementedError

    def _survival(self, t: "Array") -> "Array":
        raise NotImplementedError

    def _log_survival(self, days: float) -> float:
        raise NotImplementedError


@dataclass(frozen=True)
class StudentForecast(IntervalForecast):
    """Closed form: the log interval is Student t with `degrees`, `location` and `scale`."""

    location: float
    scale: float
    degrees: float

    def quantile(self, chance: float) -> float:
        """Return the day by which the event has come with `chance`."""
        from collection.special import stdtrit

        return _days(self.location + self.scale * float(stdtrit(self.degrees, chance)))

    def _survival(self, t: "Array") -> "Array":
        import numpy as np

        from collection.special import stdtr

        with np.errstate(divide="ignore"):
            values: Array = stdtr(self.degrees, (self.location - np.log(t)) / self.scale)
        return values

    def _log_survival(self, days: float) -> float:
        from collection.special import stdtr

        if days == 0:
            return 0.0
        x = (math.log(days) - self.location) / self.scale
        chance = float(stdtr(self.degrees, -x))
        # Too far out for a float: the tail of Student t falls as x to the minus degrees, constants cancel.
        return math.log(chance) if chance else -self.degrees * math.log(x)


@dataclass(frozen=True, eq=False)
class GridForecast(IntervalForecast):
    """Weighted points of mean and spread of the log interval, for records that are not exact."""

    mean: "Array"
    spread: "Array"
    log_weight: "Array"

    def quantile(self, chance: float) -> float:
        """Return the day by which the event has come with `chance`, by zooming in 16-fold."""
        import numpy as np

        low, high = float((self.mean - 40 * self.spread).min()), float((self.mean + 40 * self.spread).max())
        for _ in range(10):
            x = np.linspace(low, high, 17)
            i = int(np.clip(np.searchsorted(-self._after(x), chance - 1.0), 1, 16))
            low, high = float(x[i - 1]), float(x[i])
        return _days((low + high) / 2)

    def _survival(self, t: "Array") -> "Array":
        import numpy as np

        with np.errstate(divide="ignore"):
            return self._after(np.log(t))

    def _after(self, log_days: "Array") -> "Array":
        import numpy as np

        from collection.special import ndtr

        chances = ndtr((self.mean - log_days[..., None]) / self.spread) @ np.exp(self.log_weight)
        values: Array = np.minimum(chances, 1.0)  # the weights sum to 1 but for rounding
        return values

    def _log_survival(self, days: float) -> float:
        from collection.special import log_ndtr, logsumexp

        if days == 0:
            return 0.0
        return float(logsumexp(self.log_weight + log_ndtr((self.mean - math.log(days)) / self.spread)))


@dataclass(frozen=True, eq=False)
class WidenedForecast(IntervalForecast):
    """A forecast whose distances from its median, in log days, are `factor` times those of `base`."""

    base: IntervalForecast
    factor: float
    middle: float

    def quantile(self, chance: float) -> float:
        """Return the day by which the event has come with `chance`."""
        inner = self.base.quantile(chance)
        return _days(math.log(self.middle) + self.factor * math.log(inner / self.middle)) if inner < math.inf else inner

    def _inner(self, days: Any) -> Any:
        return self.middle * (days / self.middle) ** (1 / self.factor)

    def _survival(self, t: "Array") -> "Array":
        return self.base._survival(self._inner(t))

    def _log_survival(self, days: float) -> float:
        return self.base._log_survival(self._inner(days))


def widen(forecast: IntervalForecast, factor: float) -> IntervalForecast:
    """Return the forecast with windows made wider about the same median; a factor of 1 changes nothing."""
    if not 1 <= factor < math.inf:
        raise ValueError(f"Windows are widened by 1 or more, not by {factor}.")
    return forecast if factor == 1 else WidenedForecast(forecast, factor, forecast.median)


def quantiles(forecast: IntervalForecast, levels: Sequence[float], elapsed: float = 0.0) -> list[float]:
    """Return the days by which the event has come with each chance, none having come in `elapsed` days.

    Read off a fine grid of log days, so that many cost little more than one; accuracy about 1e-4 of the days. At most
    `LONGEST_DAYS`. Errors: ValueError when the event is certain to have come before `elapsed`.
    """
    import numpy as np

    start = from_zero_up(elapsed, "The time elapsed")
    left = forecast.survival(start)
    if left <= 0:
        raise ValueError(f"After {start:g} days the event is certain to have come; there is nothing left to forecast.")
    wanted = 1 - left * (1 - np.array(levels))
    ends = [min(forecast.quantile(float(chance)), LONGEST_DAYS) for chance in (wanted[0], wanted[-1])]
    days = np.geomspace(max(ends[0], start, 1e-6) * 0.999, ends[1] * 1.001 + 1e-9, QUANTILE_CELLS)
    log_days = np.interp(wanted, 1 - forecast.survival(days), np.log(days))
    return [float(day) for day in np.maximum(np.exp(log_days), start)]


def update(prior: IntervalPrior, observed: Iterable[Record] = (), censored: Iterable[float] = ()) -> IntervalForecast:
    """Return the forecast after the keeper's own records, in days.

    `observed`: finished intervals, each a number or a pair (low, high) when the dates are known to a range only.
    `censored`: intervals that ended without the event (sold, died, still running).
    Errors: ValueError for anything negative, zero where an interval must have a length, or not a number.
    """
    exact, ranges = _sort(observed)
    open_ends = [_positive(days, "An interval without its event") for days in censored]
    m, k, a, b = _posterior(prior, [math.log(days) for days in exact])
    if not ranges and not open_ends:
        return StudentForecast(m, math.sqrt(b * (k + 1) / (a * k)), 2 * a)
    points = GRID if min(prior.records, prior.shape) >= FIRM else FINE_GRID
    return _grid(m, k, a, b, ranges + [(days, math.inf) for days in open_ends], points)


def _sort(observed: Iterable[Record]) -> tuple[list[float], list[tuple[float, float]]]:
    exact: list[float] = []
    ranges: list[tuple[float, float]] = []
    for record in observed:
        low, high = (record, record) if isinstance(record, float | Real) else record
        from_zero_up(low, "An interval")
        _positive(high, "An interval")
        if low > high:
            raise ValueError(f"The range {low}–{high} days runs backwards.")
        if high - low <= NARROW_GAP * high:
            exact.append(math.sqrt(low * high))
        else:
            ranges.append((low, high))
    return exact, ranges


def _posterior(prior: IntervalPrior, logs: list[float]) -> tuple[float, float, float, float]:
    """Return location, records, shape and scale of the normal–inverse-gamma after exact log intervals."""
    m, k, a, n = math.log(prior.median_days), prior.records, prior.shape, len(logs)
    b = a * prior.spread**2
    if not logs:
        return m, k, a, b
    mean = math.fsum(logs) / n
    squares = math.fsum((x - mean) ** 2 for x in logs)
    return (k * m + n * mean) / (k + n), k + n, a + n / 2, b + squares / 2 + k * n * (mean - m) ** 2 / (2 * (k + n))


def _grid(
    m: float, k: float, a: float, b: float, ranges: list[tuple[float, float]], points: tuple[int, int]
) -> GridForecast:
    """Weigh the posterior of the exact records by the records known to a range, zooming in on where the weight is.

    Coordinates in which exact records give independent axes: z = (mean − m)·√k / spread, and the log spread s. Both
    humps are smooth, so even steps well below their width are exact to many digits.
    """
    import numpy as np

    from collection.special import gammaincinv

    tightest, widest = 0.5 * np.log(b / gammaincinv(a, np.array([1 - 1e-9, 1e-9])))
    box = [-12.0, 12.0, float(tightest), float(widest) + 1.0]
    with np.errstate(divide="ignore"):
        ends = np.log(np.array(ranges))
    for _ in range(GRID_ZOOMS + 1):
        z, s = np.linspace(box[0], box[1], points[0])[:, None], np.linspace(box[2], box[3], points[1])
        spread = np.exp(s) + 0 * z
        mean = m + z * spread / math.sqrt(k)
        weight = -0.5 * z**2 - 2 * a * s - b / spread**2 + _log_between(ends, mean, spread)
        keep = weight > weight.max() - GRID_REACH
        box = _around(z[:, 0], keep.any(1)) + _around(s, keep.any(0))
    weight = weight[keep] - weight.max()
    return GridForecast(mean[keep], spread[keep], weight - math.log(np.exp(weight).sum()))


def _around(axis: "Array", keep: Any) -> list[float]:
    step = float(axis[1] - axis[0])
    return [float(axis[keep].min()) - step, float(axis[keep].max()) + step]


def _log_between(ends: "Array", mean: "Array", spread: "Array") -> Any:
    """Return the summed log chance that each record fell between its two log ends, at every grid point."""
    import numpy as np

    from collection.special import log_ndtr

    low, high = ((end[:, None, None] - mean) / spread for end in ends.T)
    flip = low + np.where(np.isinf(high), -low, high) > 0  # the upper tail keeps its digits when mirrored
    flip |= np.isinf(high)
    upper, lower = np.where(flip, -low, high), np.where(flip, -high, low)
    top = log_ndtr(upper)
    with np.errstate(divide="ignore"):
        return (top + np.log1p(-np.exp(log_ndtr(lower) - top))).sum(0)


def _days(log_days: float) -> float:
    """Return days from their log; a vague prior can reach beyond what a float holds."""
    return math.exp(log_days) if log_days < 700 else math.inf


def _positive(value: float, what: str) -> float:
    if not 0 < value < math.inf:
        raise ValueError(f"{what} must be a number above zero, not {value}.")
    return float(value)
