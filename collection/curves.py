"""Geometry of curves of survival, drawn as fluid SVG: per cent across, pixels down. Numbers in, numbers out."""

from collections.abc import Sequence
from dataclasses import dataclass

from collection.survival import Step

TOP, BASE, HEIGHT = 16.0, 216.0, 250
YEAR = 365.2425
MONTH = YEAR / 12
SPACINGS = (  # days between ticks, the unit, and how many units
    (10.0, "days", 10), (30.0, "days", 30), (MONTH * 3, "months", 3), (MONTH * 6, "months", 6), (YEAR, "years", 1),
    (YEAR * 2, "years", 2), (YEAR * 5, "years", 5), (YEAR * 10, "years", 10), (YEAR * 20, "years", 20),
)  # fmt: skip
MOST_TICKS = 6


@dataclass(frozen=True)
class AxisTick:
    """A mark on the time axis: per cent across, days, and what it says."""

    x: float
    days: float
    text: str


@dataclass(frozen=True)
class TimeAxis:
    """Time from 0 to `limit` days."""

    limit: float
    unit: str
    ticks: tuple[AxisTick, ...]

    def at(self, days: float) -> float:
        """Where a time stands, in thousandths of the width."""
        return round(min(max(days / self.limit, 0.0), 1.0) * 1000, 1)


def time_axis(longest: float) -> TimeAxis:
    """An axis that holds so many days, with no more than six marks."""
    limit = max(longest, 1.0)
    spacing, unit, units = next((spacing for spacing in SPACINGS if limit / spacing[0] <= MOST_TICKS), SPACINGS[-1])
    marks = range(1, int(limit / spacing + 1e-9) + 1)
    ticks = (AxisTick(round(n * spacing / limit * 100, 2), n * spacing, f"{n * units}") for n in marks)
    return TimeAxis(limit, unit, tuple(ticks))


def say_tick(tick: AxisTick, axis: TimeAxis) -> str:
    """A mark of the axis with its unit: 1 year, 2 years."""
    return f"{tick.text} {axis.unit.removesuffix('s') if tick.text == '1' else axis.unit}"


def height_of(share: float) -> float:
    """Where a share of 0 to 1 stands, in pixels down."""
    return round(BASE - share * (BASE - TOP), 1)


def stair(steps: Sequence[Step], begins: float, ends: float, axis: TimeAxis) -> str:
    """The curve as a path in a box 1000 wide: flat until something happens."""
    path = f"M{axis.at(begins)} {height_of(1.0)}"
    for step in steps:
        path += f"H{axis.at(step.time)}V{height_of(step.survival)}"
    return path + f"H{axis.at(ends)}"


def haze(steps: Sequence[Step], ends: float, axis: TimeAxis) -> str:
    """The limits of the curve as a closed shape, from its first step on."""
    if not steps:
        return ""
    over = f"M{axis.at(steps[0].time)} {height_of(steps[0].high)}"
    for step in steps[1:]:
        over += f"H{axis.at(step.time)}V{height_of(step.high)}"
    over += f"H{axis.at(ends)}V{height_of(steps[-1].low)}"
    for step, before in zip(steps[:0:-1], steps[-2::-1], strict=True):
        over += f"H{axis.at(step.time)}V{height_of(before.low)}"
    return over + f"H{axis.at(steps[0].time)}Z"


def levels() -> tuple[tuple[float, str], ...]:
    """The shares to rule across."""
    return tuple((height_of(share), f"{share:.0%}".replace("%", " %")) for share in (1.0, 0.75, 0.5, 0.25))


def say_time(days: float) -> str:
    """A length of time as a keeper says it."""
    if days < 60:
        return f"{days:.0f} day{'' if round(days) == 1 else 's'}"
    return f"{days / MONTH:.0f} months" if days < 2 * YEAR else f"{days / YEAR:.1f} years"
