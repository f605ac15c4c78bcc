"""How good forecasts were: pinball loss, CRPS, coverage, and by how much windows were too narrow.

Scores are in the unit of what was forecast (days; for the log-normal in days too) and 0 is perfect. Given lists, a
score is the mean over them. Formulas: Gneiting & Raftery, J. Am. Stat. Assoc. 102:359–378 (2007); Jordan, Krüger &
Lerch, J. Stat. Softw. 90(12) (2019), appendix A; limits: Wilson, J. Am. Stat. Assoc. 22:209–212 (1927); exact
binomial chance, two-sided by adding all outcomes that are no likelier.

Limits: a forecast whose log is Student t has no finite mean in days, and its CRPS in days is infinite. It is scored on
the log (`crps_student`), or in days with everything beyond a horizon counted as the horizon (`crps_capped`).
Errors: ValueError for what is no number, spreads that are not above zero, levels outside 0–1, more hits than forecasts.
"""

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple, TypeGuard

Numbers = float | Sequence[float]
LEVELS = (0.01, 0.025, *(n / 20 for n in range(1, 20)), 0.975, 0.99)  # by which forecasts are kept
WILSON_SCORE = 1.959963984540054  # of a normal, for limits of 95 %
NO_LIKELIER = 1 + 1e-7  # outcomes this close in chance count as equal, whatever rounding did
CAPPED_CELLS = 2000
MOST_FORECASTS = 10**15
LARGEST_LOG = 700.0  # e to this is about the largest number there is
WIDEST = 3.0  # windows are never made wider than so many times: then the model is wrong, not its spread


class Coverage(NamedTuple):
    """The share of windows that held what came, its limits of 95 %, and the chance of one as odd if they were right."""

    rate: float
    low: float
    high: float
    p: float


def pinball(observed: Numbers, forecast: Numbers, level: float) -> float:
    """Return the pinball loss of a forecast of the quantile `level` (0–1): too low costs level, too high the rest."""
    _share(level, "The level of a quantile")
    y, q = _same(observed, forecast)
    return _mean(max(level * (a - b), (level - 1) * (a - b)) for a, b in zip(y, q, strict=True))


def crps_normal(observed: Numbers, mean: Numbers, sd: Numbers) -> float:
    """Return the CRPS of a normal forecast: sd·(z(2Φ(z) − 1) + 2φ(z) − 1/√π)."""
    rows = zip(*_same(observed, mean, sd), strict=True)
    return _mean(_above_zero(s) * _standard_normal((y - m) / s) for y, m, s in rows)


def crps_lognormal(observed: Numbers, mu: Numbers, sigma: Numbers) -> float:
    """Return the CRPS, in days, of a forecast whose log days are normal with mean `mu` and deviation `sigma`.

    ValueError too for an event before its time, and where the mean of the days is more than a number can hold.
    """
    return _mean(_lognormal(y, m, _above_zero(s)) for y, m, s in zip(*_same(observed, mu, sigma), strict=True))


def crps_student(observed: float, location: float, scale: float, degrees: float) -> float:
    """Return the CRPS of a Student t forecast with more than one degree of freedom, in the unit of `location`.

    For a forecast of log days give log days: the score is then a share, about the relative error.
    """
    from collection.special import betaln, gammaln, stdtr

    z = (_number(observed) - _number(location)) / _above_zero(scale)
    if not degrees > 1:
        raise ValueError(f"With {degrees} degrees of freedom a Student t has no finite score; it takes more than one.")
    log_density = gammaln((degrees + 1) / 2) - gammaln(degrees / 2) - 0.5 * math.log(degrees * math.pi)
    density = math.exp(float(log_density) - (degrees + 1) / 2 * math.log1p(z * z / degrees))
    spread = math.exp(float(betaln(0.5, degrees - 0.5) - 2 * betaln(0.5, degrees / 2)))
    inner = z * (2 * float(stdtr(degrees, z)) - 1) + 2 * density * (degrees + z * z) / (degrees - 1)
    return scale * (inner - 2 * math.sqrt(degrees) / (degrees - 1) * spread)


def crps_capped(observed: float, distribution: Callable[[Any], Any], horizon: float) -> float:
    """Return the CRPS in days with everything beyond `horizon` counted as the horizon, by the trapezoid rule.

    `distribution` takes an array of days and gives the chance that the event has come by each. Accuracy about 1e-3 of
    the horizon's cell; finite whatever the tail.
    """
    import numpy as np

    y = min(_number(observed), horizon)
    if not 0 < horizon < math.inf:
        raise ValueError(f"A horizon is a number of days above zero, not {horizon}.")
    below, above = np.linspace(0.0, max(y, 0.0), CAPPED_CELLS), np.linspace(max(y, 0.0), horizon, CAPPED_CELLS)
    early = np.trapezoid(np.asarray(distribution(below), dtype=float) ** 2, below)
    late = np.trapezoid((1 - np.asarray(distribution(above), dtype=float)) ** 2, above)
    return float(early + late)


def crps_quantiles(observed: float, levels: Sequence[float], quantiles: Sequence[float]) -> float:
    """Return the CRPS of a forecast known by its quantiles: twice the pinball loss, integrated over the levels.

    Beyond the outermost levels the loss is taken to stay as it is there. Rising levels and quantiles of equal number.
    """
    if len(levels) != len(quantiles) or len(levels) < 2:
        raise ValueError("A forecast by quantiles takes two or more of them, each with its level.")
    losses = [pinball(observed, q, level) for level, q in zip(levels, quantiles, strict=True)]
    inner = sum((levels[i + 1] - levels[i]) * (losses[i] + losses[i + 1]) / 2 for i in range(len(levels) - 1))
    return 2 * (inner + levels[0] * losses[0] / 2 + (1 - levels[-1]) * losses[-1] / 2)


def normal_score(observed: float, levels: Sequence[float], quantiles: Sequence[float]) -> float:
    """Return where an event fell in a forecast known by its quantiles, as a normal score: 0 is the median.

    Straight lines between the log of the quantiles and the normal scores of their levels, carried on beyond the
    outermost. Quantiles are above zero and rise; two that coincide count as one.
    """
    import numpy as np

    from collection.special import ndtri

    logs, scores = np.log(np.asarray(quantiles, dtype=float)), ndtri(np.asarray(levels, dtype=float))
    kept = np.concatenate([[True], np.diff(logs) > 0])
    logs, scores = logs[kept], scores[kept]
    if logs.size < 2:
        raise ValueError("A forecast by quantiles takes two or more that differ.")
    x = math.log(max(_number(observed), 1e-3))
    i = int(np.clip(np.searchsorted(logs, x), 1, logs.size - 1))
    slope = (scores[i] - scores[i - 1]) / (logs[i] - logs[i - 1])
    return float(scores[i] + slope * (x - logs[i]))


def coverage(hits: int, n: int, level: float) -> Coverage:
    """Return how often windows of `level` (0–1) held what came: `hits` of `n`."""
    _share(level, "The level of a window")
    if not (0 <= hits <= n and 1 <= n <= MOST_FORECASTS) or n != int(n) or hits != int(hits):
        raise ValueError(f"{hits} hits of {n} forecasts cannot be; count from none to all of one or more.")
    hits, n = int(hits), int(n)
    rate, square = hits / n, WILSON_SCORE**2 / n
    middle = (rate + square / 2) / (1 + square)
    reach = WILSON_SCORE * math.sqrt(rate * (1 - rate) / n + square / n / 4) / (1 + square)
    low, high = max(0.0, middle - reach), min(1.0, middle + reach)
    return Coverage(rate, 0.0 if hits == 0 else low, 1.0 if hits == n else high, _as_odd(hits, n, level))


def _as_odd(hits: int, n: int, level: float) -> float:
    """Return the chance of a count that is no likelier than this one: its own tail, and the other from where it is so.

    Binomial chances rise to their middle and fall after it, so the other tail is found by halving, whatever n is.
    """
    from collection.special import betainc

    def log_chance(k: int) -> float:
        ways = math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
        return ways + k * math.log(level) + (n - k) * math.log1p(-level)

    likely = min(math.floor((n + 1) * level), n)
    as_likely = log_chance(hits) + math.log(NO_LIKELIER)
    if log_chance(likely) <= as_likely:
        return 1.0
    few = hits < likely
    inner, outer = likely, n + 1 if few else -1  # likelier than the count; no likelier, or beyond all counts
    while abs(outer - inner) > 1:
        middle = (inner + outer) // 2
        inner, outer = (inner, middle) if log_chance(middle) <= as_likely else (middle, outer)
    low, high = (hits, outer) if few else (outer, hits)
    at_most = float(betainc(n - low, low + 1, 1 - level)) if low >= 0 else 0.0
    at_least = float(betainc(high, n - high + 1, level)) if high <= n else 0.0
    return min(1.0, at_most + at_least)


def widening(scores: Sequence[float]) -> float:
    """Return the factor by which windows must widen to hold as much as they say, from 1 to `WIDEST`.

    `scores`: where each event fell in its forecast, as a normal score (0 the median, ±1.28 the ends of the 80 %
    window). So many times wider, the 80 % windows would have held 80 % of these events.
    """
    from collection.special import ndtri

    if not scores:
        return 1.0
    reach = sorted(abs(_number(score)) for score in scores)
    place = 0.8 * (len(reach) - 1)
    low = int(place)
    high = min(low + 1, len(reach) - 1)
    held = reach[low] + (place - low) * (reach[high] - reach[low])
    return min(max(1.0, held / float(ndtri(0.9))), WIDEST)


def _standard_normal(z: float) -> float:
    density = math.exp(-z * z / 2) / math.sqrt(2 * math.pi)
    return z * math.erf(z / math.sqrt(2)) + 2 * density - 1 / math.sqrt(math.pi)


def _lognormal(y: float, mu: float, sigma: float) -> float:
    """y(2Φ(z) − 1) − 2e^(mu + sigma²/2)(Φ(z − sigma) + Φ(sigma/√2) − 1), z = (ln y − mu)/sigma."""
    from collection.special import ndtr

    if y < 0:
        raise ValueError(f"Nothing comes after {y:g} days; a time is zero or more.")
    if mu + sigma * sigma / 2 > LARGEST_LOG:
        raise ValueError("A forecast so far or so wide has no mean in days, and so no score in days.")
    z = (math.log(y) - mu) / sigma if y > 0 else -math.inf
    mean = math.exp(mu + sigma * sigma / 2)
    rest = float(ndtr(z - sigma)) + float(ndtr(sigma / math.sqrt(2))) - 1
    return y * (2 * float(ndtr(z)) - 1) - 2 * mean * rest


def _same(*columns: Numbers) -> list[list[float]]:
    """Columns of equal length as lists of numbers; a single number stands for every row."""
    lists = [[_number(x) for x in column] if _many(column) else [_number(column)] for column in columns]
    length = max(len(column) for column in lists)
    widened = [column * length if len(column) == 1 else column for column in lists]
    if any(len(column) != length for column in widened):
        raise ValueError("Forecasts and what came must be equally many.")
    return widened


def _many(value: Numbers) -> TypeGuard[Sequence[float]]:
    return hasattr(value, "__len__") and not isinstance(value, str)


def _mean(values: Any) -> float:
    found = list(values)
    if not found:
        raise ValueError("Without a forecast there is no score.")
    return math.fsum(found) / len(found)


def _number(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"A score takes numbers, not {value}.")
    return number


def _above_zero(value: float) -> float:
    if not 0 < value < math.inf:
        raise ValueError(f"A spread must be a number above zero, not {value}.")
    return value


def _share(value: float, what: str) -> None:
    if not 0 < value < 1:
        raise ValueError(f"{what} lies between 0 and 1, not {value}.")
