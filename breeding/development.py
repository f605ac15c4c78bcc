"""How far a clutch has come: stages by temperature, degree-days, and a rate learnt from sacs. Pure, on plain values.

The default stage table is common practice at 25–27 °C; no published degree-day constants of tarantulas were found. It
is scaled by (26 − 12)/(T − 12), widened by a fifth on both sides, and refused outside 18–31 °C: constant 32 °C killed
every embryo of Eratigena atrica, and so did 12 °C (Napiórkowska et al. 2018).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

from collection.intervals import IntervalPrior, update
from collection.wording import plural

METHODS = ("single-sine", "double-sine", "triangle", "double-triangle")
REFERENCE, THRESHOLD = 26.0, 12.0  # °C of the stage table, and where development is taken to stop: assumptions
COLDEST, WARMEST = 18.0, 31.0  # outside, nothing is forecast
SURE_FROM, SURE_TO = 20.0, 30.0
WIDER = 0.2
HOTTEST = 1e6  # degrees of either scale: what is beyond is no temperature
OWN_FROM = 3  # own sacs of a taxon from which the keeper's own pace takes over
PRIOR_RECORDS, PRIOR_SPREAD, PRIOR_SHAPE = 2.0, 0.15, 3.0
LEVEL = 0.8
LONGEST = 800  # days walked through at most


# ------------------------------------------------------------ degree-days


def degree_days(
    minimum: float,
    maximum: float,
    lower: float,
    upper: float | None = None,
    method: str = "single-sine",
    next_minimum: float | None = None,
) -> float:
    """Degree-days of one day above `lower`, cut off horizontally at `upper`; all temperatures in one unit.

    For minima and maxima read by hand; hourly readings are integrated directly instead. `double-sine` and
    `double-triangle` take the second half of the day from the maximum to `next_minimum`. Raises ValueError for a
    maximum below a minimum, an upper threshold not above the lower one, an unknown method, or no numbers.
    Sources: Baskerville & Emin 1969; Allen 1976; Zalom et al. 1983.
    """
    _refuse_odd_day(minimum, maximum, lower, upper, method, next_minimum)
    above = _above_sine if method.endswith("sine") else _above_triangle
    first = _between(above, minimum, maximum, lower, upper)
    if not method.startswith("double"):
        return first
    assert next_minimum is not None
    return (first + _between(above, next_minimum, maximum, lower, upper)) / 2


def _refuse_odd_day(
    minimum: float, maximum: float, lower: float, upper: float | None, method: str, next_minimum: float | None
) -> None:
    if method not in METHODS:
        raise ValueError(f"There is no method “{method}”; choose one of {', '.join(METHODS)}.")
    if method.startswith("double") and next_minimum is None:
        raise ValueError("This method needs the minimum of the next night as well.")
    values = [minimum, maximum, lower, *([] if upper is None else [upper])]
    values += [] if next_minimum is None else [next_minimum]
    if not all(abs(value) < HOTTEST for value in values):
        raise ValueError("A temperature is missing or is not a number.")
    if maximum < minimum or (method.startswith("double") and next_minimum is not None and maximum < next_minimum):
        raise ValueError("The day’s maximum lies below its minimum.")
    if upper is not None and upper <= lower:
        raise ValueError("The upper threshold must lie above the lower one.")


def _between(above, minimum: float, maximum: float, lower: float, upper: float | None) -> float:  # type: ignore[no-untyped-def]
    total: float = above(minimum, maximum, lower)
    return total if upper is None else total - above(minimum, maximum, upper)


def _above_sine(minimum: float, maximum: float, threshold: float) -> float:
    """Area of a sine day above a threshold."""
    mean, half = (minimum + maximum) / 2, (maximum - minimum) / 2
    if minimum >= threshold:
        return mean - threshold
    if maximum <= threshold:
        return 0.0
    angle = math.asin((threshold - mean) / half)
    return ((mean - threshold) * (math.pi / 2 - angle) + half * math.cos(angle)) / math.pi


def _above_triangle(minimum: float, maximum: float, threshold: float) -> float:
    """Area of a triangular day above a threshold."""
    if minimum >= threshold:
        return (minimum + maximum) / 2 - threshold
    if maximum <= threshold:
        return 0.0
    return (maximum - threshold) ** 2 / (2 * (maximum - minimum))


# ------------------------------------------------------------ a line through rates


@dataclass(frozen=True)
class Development:
    """A linear rate of development: `threshold` in °C, `constant` in degree-days, with their standard errors.

    The errors are NaN for two temperatures, through which any line goes. `coldest` and `warmest` bound what was
    observed: near and beyond them a line says little.
    """

    threshold: float
    constant: float
    se_threshold: float
    se_constant: float
    coldest: float = -math.inf
    warmest: float = math.inf

    def days_at(self, celsius: float) -> float | None:
        """Days at a constant temperature; None at or below the threshold, where the line says it never ends.

        Errors: ValueError for no number.
        """
        if not abs(celsius) < HOTTEST:
            raise ValueError("A temperature is missing or is not a number.")
        return self.constant / (celsius - self.threshold) if celsius > self.threshold else None

    def covers(self, celsius: float) -> bool:
        """Whether the temperature lies within those observed."""
        return self.coldest <= celsius <= self.warmest


def fit_development(celsius: Sequence[float], days: Sequence[float]) -> Development:
    """Fit 1/days = a + b × temperature by least squares: threshold −a/b, constant 1/b.

    Raises ValueError for fewer than two different temperatures, days that are not above 0, or development that does not
    grow faster with warmth. Source: Campbell et al. 1974 for the standard errors.
    """
    celsius, days = [float(t) for t in celsius], [float(day) for day in days]
    if len(celsius) != len(days):
        raise ValueError("Each temperature needs its number of days.")
    if not all(abs(t) < HOTTEST for t in celsius) or not all(0 < day < math.inf for day in days):
        raise ValueError("Days are numbers above 0, temperatures are numbers.")
    n = len(celsius)
    if len(set(celsius)) < 2:
        raise ValueError("A line needs at least two different temperatures.")
    rates = [1 / day for day in days]
    mean_t, mean_rate = sum(celsius) / n, sum(rates) / n
    spread = sum((t - mean_t) ** 2 for t in celsius)
    slope = sum((t - mean_t) * (rate - mean_rate) for t, rate in zip(celsius, rates, strict=True)) / spread
    if slope <= 0:
        raise ValueError("These figures do not say that warmth speeds development; no line can be drawn.")
    start = mean_rate - slope * mean_t
    rest = sum((rate - start - slope * t) ** 2 for t, rate in zip(celsius, rates, strict=True))
    variance = rest / (n - 2) if n > 2 else math.nan
    se_slope = math.sqrt(variance / spread)
    se_threshold = mean_rate / slope * math.sqrt(variance / (n * mean_rate**2) + (se_slope / slope) ** 2)
    return Development(-start / slope, 1 / slope, se_threshold, se_slope / slope**2, min(celsius), max(celsius))


# ------------------------------------------------------------ stages of a clutch


@dataclass(frozen=True)
class Pace:
    """Days from laying to each stage at 26 °C: (stage, from, to), in order; and what they rest on."""

    name: str
    stages: tuple[tuple[str, float, float], ...]
    rests_on: str = "common practice"
    counted_from: str = ""  # a stage that was seen, instead of the laying


def _pace(name: str, legs: tuple[int, int], first: tuple[int, int], feeding: tuple[int, int]) -> Pace:
    """A row of the reference table, whose intervals follow each other."""
    larva = (legs[0] + first[0], legs[1] + first[1])
    young = (larva[0] + feeding[0], larva[1] + feeding[1])
    return Pace(name, (("ewl", *legs), ("larva", *larva), ("spiderling", *young)))


FAST = _pace("baboon spiders and dwarfs", (18, 25), (10, 18), (14, 25))
TREE = _pace("Psalmopoeus and Poecilotheria", (20, 30), (12, 20), (18, 30))
MIDDLE = _pace("Brachypelma and Lasiodora", (25, 40), (18, 30), (25, 45))
SLOW = _pace("Grammostola", (30, 45), (20, 35), (30, 50))
PACES = {
    **dict.fromkeys(("Pterinochilus", "Ceratogyrus", "Harpactira", "Augacephalus", "Idiothele", "Eucratoscelus"), FAST),
    **dict.fromkeys(("Monocentropus", "Neoholothele", "Heteroscodra", "Stromatopelma", "Encyocratella"), FAST),
    **dict.fromkeys(("Psalmopoeus", "Poecilotheria", "Tapinauchenius", "Avicularia", "Caribena", "Ybyrapora"), TREE),
    **dict.fromkeys(("Brachypelma", "Tliltocatl", "Lasiodora", "Nhandu", "Acanthoscurria", "Megaphobema"), MIDDLE),
    **dict.fromkeys(("Theraphosa", "Pamphobeteus", "Xenesthis", "Chromatopelma"), MIDDLE),
    **dict.fromkeys(("Grammostola", "Aphonopelma", "Euathlus"), SLOW),
}


def pace_of(genus: str, weeks: tuple[float | None, float | None] = (None, None)) -> Pace | None:
    """The stage table of a genus; else, from the taxon's weeks to emergence, the day the young come out; else None."""
    known = PACES.get(genus)
    if known is not None:
        return known
    low, high = weeks
    if low is None and high is None:
        return None
    first, last = (low if low is not None else high), (high if high is not None else low)
    assert first is not None
    assert last is not None
    if not 0 < first <= last:
        raise ValueError("Weeks to emergence run from a number above 0 to one that is not smaller.")
    return Pace("the taxon’s weeks to emergence", (("young", first * 7, last * 7),), "the taxon’s own figures")


@dataclass(frozen=True)
class StageWindow:
    """When a stage is reached: `opens`, `likely`, `closes`; and the sentence that says why."""

    stage: str
    opens: date
    likely: date
    closes: date
    reason: str
    own: bool = False


@dataclass(frozen=True)
class NoForecast:
    """Why no stage is forecast."""

    reason: str


def pace_at(celsius: float) -> float:
    """Days at 26 °C that one day at this temperature is worth, 0 at and below 12 °C; a ValueError for no number."""
    if not math.isfinite(celsius) or not -60 < celsius < 90:
        raise ValueError("This is no temperature of an incubator.")
    return max(celsius - THRESHOLD, 0.0) / (REFERENCE - THRESHOLD)


def pace_of_day(readings: Iterable[float]) -> float:
    """What a day is worth, from evenly spaced readings in °C: each counts for its share of the day."""
    worth = [pace_at(celsius) for celsius in readings]
    if not worth:
        raise ValueError("A day without a reading says nothing.")
    return sum(worth) / len(worth)


def stage_windows(
    laid: tuple[date, date],
    pace: Pace | None,
    celsius: float,
    days: Mapping[date, float] | None = None,
    own: Mapping[str, Sequence[float]] | None = None,
    seen: tuple[str, date] | None = None,
) -> list[StageWindow] | NoForecast:
    """When each stage is reached.

    `laid`: first and last day on which the sac may have been laid. `celsius`: the temperature of every day that was not
    measured. `days`: what measured days were worth, from `pace_of_day`. `own`: days at 26 °C to a stage in the keeper's
    own sacs of the taxon; from three on they replace the table. Returns NoForecast with the reason where the taxon has
    no table or the temperature lies outside 18–31 °C. `seen`: the furthest stage that most of it was seen in and since
    when; the stages after it are counted from there, those before are past and no longer forecast.
    """
    if laid[1] < laid[0]:
        raise ValueError("The last day of laying lies before the first.")
    if pace is None:
        return NoForecast("How long this taxon’s eggs take is not on record; add its weeks to emergence.")
    if not COLDEST <= celsius <= WARMEST:
        return NoForecast(f"At {celsius:g} °C nothing can be said; the table holds between 18 and 31 °C.")
    measured = days or {}
    if seen is not None and seen[0] in {stage for stage, _, _ in pace.stages}:
        laid, pace = (seen[1], seen[1]), _after(pace, seen[0])
    found = []
    for stage, low, high in pace.stages:
        spans = None if pace.counted_from else _own_span(stage, (low + high) / 2, own or {})
        first, middle, last = spans or (low * (1 - WIDER), (low + high) / 2, high * (1 + WIDER))
        reason = _reason(stage, pace, celsius, len(measured), len((own or {}).get(stage, ())) if spans else 0)
        opens = _reached(laid[0], first, celsius, measured)
        likely = _reached(laid[0] + (laid[1] - laid[0]) / 2, middle, celsius, measured)
        closes = _reached(laid[1], last, celsius, measured)
        found.append(StageWindow(stage, opens, likely, closes, reason, spans is not None))
    return found


def _after(pace: Pace, stage: str) -> Pace:
    """What is left of a pace once a stage is reached."""
    order = [name for name, _, _ in pace.stages]
    at = order.index(stage)
    _, low, high = pace.stages[at]
    return Pace(pace.name, tuple((n, a - low, b - high) for n, a, b in pace.stages[at + 1 :]), pace.rests_on, stage)


def _own_span(stage: str, usual: float, own: Mapping[str, Sequence[float]]) -> tuple[float, float, float] | None:
    """Four of five sacs, from the keeper's own; None before there are three."""
    records = list(own.get(stage, ()))
    if len(records) < OWN_FROM:
        return None
    forecast = update(IntervalPrior(usual, PRIOR_RECORDS, PRIOR_SPREAD, PRIOR_SHAPE), records)
    low, high = forecast.window(LEVEL)
    return low, forecast.median, high


def _reached(begin: date, worth: float, celsius: float, measured: Mapping[date, float]) -> date:
    """The day on which this much development is done."""
    usual, done, day = pace_at(celsius), 0.0, begin
    for _ in range(LONGEST):
        done += measured.get(day, usual)
        day += timedelta(days=1)
        if done >= worth - 1e-9:
            break
    return day


def _reason(stage: str, pace: Pace, celsius: float, measured: int, own: int) -> str:
    warmth = (
        f"{plural(measured, 'day')} as measured, the others at {celsius:g} °C" if measured else f"at {celsius:g} °C"
    )
    if own:
        return f"From {own} sacs of your own; {warmth}."
    doubt = "" if SURE_FROM <= celsius <= SURE_TO else "; so far from 26 °C the table is doubtful"
    if pace.counted_from:
        return (
            f"Counted from what was seen; {pace.name}, {pace.rests_on}, a fifth wider on both sides; {warmth}{doubt}."
        )
    return f"{pace.name[0].upper()}{pace.name[1:]}, {pace.rests_on}, a fifth wider on both sides; {warmth}{doubt}."


def spread_of_stages(windows: Sequence[StageWindow], day: date) -> dict[str, float]:
    """The share of the clutch expected in each stage on a day, eggs included; the shares add up to 1.

    An assumption: each stage is reached around its likely day, nine in ten within its window. A sac never holds one
    stage only, and its youngest may leave it at several (Panzera et al. 2009 on Grammostola mollicoma).
    """
    reached = [1.0]
    for window in windows:
        width = max((window.closes - window.opens).days / (2 * 1.645), 0.5)
        share = NormalDist(0, width).cdf((day - window.likely).days)
        reached.append(min(share, reached[-1]))
    names = ["egg", *(window.stage for window in windows)]
    return {name: reached[i] - (reached[i + 1] if i + 1 < len(reached) else 0.0) for i, name in enumerate(names)}
