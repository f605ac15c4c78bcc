"""Geometry of figures drawn as fluid SVG: per cent across, pixels down. Numbers in, numbers out; templates draw."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

LABEL_ROOM = 7  # per cent of the width that the number at a step needs on a phone


@dataclass(frozen=True)
class Tick:
    """A mark on a time axis: where it stands in per cent, and what it says."""

    x: float
    text: str


@dataclass(frozen=True)
class Step:
    """One molt in the growth figure."""

    x: float
    y: float
    on: date
    size: float
    kept: bool | None
    label: bool


@dataclass(frozen=True)
class Growth:
    """Size against time as a stair: an animal grows only at a molt."""

    steps: tuple[Step, ...]
    path: str  # in a box 1000 wide and `height` high
    ticks: tuple[Tick, ...]
    levels: tuple[tuple[float, str], ...]
    today: float
    window: tuple[float, float, float, float] | None  # x and width of the 80 % window, x and width of its inner half
    height: int
    base: int
    scale: "Scale"
    ahead: tuple[float, float, float, float] | None = None  # of the next size: x, and the heights of high, median, low


@dataclass(frozen=True)
class Scale:
    """A time axis from a day to a day."""

    first: date
    last: date

    def at(self, day: date) -> float:
        """Where a day stands, in per cent of the width, kept inside."""
        share = (day - self.first).days / max((self.last - self.first).days, 1)
        return round(min(max(share, 0.0), 1.0) * 100, 2)

    def years(self) -> tuple[Tick, ...]:
        """The years that the axis shows, each marked where it begins."""
        first = self.first.year + 1
        return tuple(Tick(self.at(date(year, 1, 1)), str(year)) for year in range(first, self.last.year + 1))

    def month_starts(self) -> tuple[float, ...]:
        """Where each month begins on the axis."""
        day, found = (self.first.replace(day=1) + timedelta(days=32)).replace(day=1), []
        while day <= self.last:
            found.append(self.at(day))
            day = (day + timedelta(days=32)).replace(day=1)
        return tuple(found)

    def months(self) -> tuple[Tick, ...]:
        """The months that the axis shows, each marked at its middle by its first three letters."""
        ticks = []
        day = self.first.replace(day=1)
        while day <= self.last:
            middle = day + timedelta(days=14)
            if self.first <= middle <= self.last:
                ticks.append(Tick(self.at(middle), middle.strftime("%b")))
            day = (day + timedelta(days=32)).replace(day=1)
        return tuple(ticks)


TOP, BASE, HEIGHT = 40.0, 178, 210


def growth(
    molts: Sequence[tuple[date, float, bool | None]],
    today: date,
    window: tuple[date, date, date, date] | None = None,
    ahead: tuple[date, float, float, float] | None = None,
) -> Growth | None:
    """The stair of sizes in mm, oldest first; None with fewer than two sizes. `window` ends bound 80 % and 50 %.

    `ahead`: the likeliest day of the next molt, and median, low and high of the size after it.
    """
    if len(molts) < 2:
        return None
    first, last = molts[0][0], max(today, window[3] if window else today)
    pad = max((last - first).days // 25, 10)
    scale = Scale(first - timedelta(days=pad), last + timedelta(days=pad))
    top = max(*(size for _, size, _ in molts), ahead[3] if ahead else 0) * 1.05
    heights = [_height(size, top) for _, size, _ in molts]
    xs = [scale.at(day) for day, _, _ in molts]
    path = f"M{xs[0] * 10:.1f} {heights[0]}"
    for x, y in zip(xs[1:], heights[1:], strict=True):
        path += f"H{x * 10:.1f}V{y}"
    steps = tuple(
        Step(x, y, day, size, kept, label=i == len(xs) - 1 or xs[i + 1] - x > LABEL_ROOM)
        for i, (x, y, (day, size, kept)) in enumerate(zip(xs, heights, molts, strict=True))
    )
    return Growth(
        steps=steps,
        path=path + f"H{scale.at(today) * 10:.1f}",
        ticks=scale.years(),
        levels=_levels(top),
        today=scale.at(today),
        window=_window(scale, window),
        height=HEIGHT,
        base=BASE,
        scale=scale,
        ahead=_ahead(scale, top, ahead),
    )


def _ahead(
    scale: Scale, top: float, ahead: tuple[date, float, float, float] | None
) -> tuple[float, float, float, float] | None:
    if ahead is None:
        return None
    day, median, low, high = ahead
    return scale.at(day), _height(high, top), _height(median, top), _height(low, top)


def _height(size: float, top: float) -> float:
    return round(BASE - size / top * (BASE - TOP), 1)


@dataclass(frozen=True)
class Instar:
    """One instar on the strip: from where, how wide, its name (empty where it would not fit), how many days."""

    x: float
    width: float
    text: str
    days: int
    running: bool
    missed: bool


def instar_strip(instars: Sequence[tuple[date, str, bool]], today: date, scale: Scale) -> tuple[Instar, ...]:
    """The instars on a time axis, from the day each began; the last one runs until today.

    Each with its name, and whether a molt is probably missing inside it. A strip too narrow for its name has none.
    """
    ends = [*(day for day, _, _ in instars[1:]), today]
    found = []
    for at, ((begins, text, missed), until) in enumerate(zip(instars, ends, strict=True)):
        x = scale.at(begins)
        width = round(max(scale.at(until) - x, 0.0), 2)
        room = width >= NARROW_PER_LETTER * max(len(text), 2)
        running = at == len(instars) - 1
        found.append(Instar(x, width, text if room else "", (until - begins).days, running, missed))
    return tuple(found)


NARROW_PER_LETTER = 2.4  # per cent of the width that a letter of a name takes on a phone


def _window(scale: Scale, window: tuple[date, date, date, date] | None) -> tuple[float, float, float, float] | None:
    if window is None:
        return None
    opens, likely_from, likely_until, closes = (scale.at(day) for day in window)
    return opens, round(closes - opens, 2), likely_from, round(likely_until - likely_from, 2)


def _levels(top: float) -> tuple[tuple[float, str], ...]:
    """Two or three round sizes to rule across."""
    step = next(step for step in (0.5, 1, 2, 5, 10, 20, 50, 100, 200) if top / step <= 3.5 or step == 200)
    sizes = [step * n for n in range(1, int(top / step) + 1)]
    return tuple((_height(size, top), f"{size:g} mm") for size in sizes)


@dataclass(frozen=True)
class MealMark:
    """One meal on the strip of a year."""

    x: float
    taken: bool
    on: date


@dataclass(frozen=True)
class MealStrip:
    """A year of meals: taken above the line, not taken below, holds barred."""

    marks: tuple[MealMark, ...]
    held: tuple[tuple[float, float], ...]  # x and width
    months: tuple[Tick, ...]
    today: float
    taken: int
    refused: int


def meal_strip(
    meals: Sequence[tuple[date, bool]],
    holds: Sequence[tuple[date, date | None]],
    today: date,
    *,
    first: date | None = None,
    last: date | None = None,
) -> MealStrip:
    """The year up to today, or the days from `first` to `last`; nothing is held or eaten after today."""
    begin, end = first or today - timedelta(days=365), last or today + timedelta(days=10)
    scale = Scale(begin, end)
    shown = [(day, taken) for day, taken in meals if begin <= day <= min(end, today)]
    spans = []
    for begins, ends in holds:
        left, right = scale.at(begins), scale.at(min(ends or today, today))
        if right > left:
            spans.append((left, round(right - left, 2)))
    return MealStrip(
        marks=tuple(MealMark(scale.at(day), taken, day) for day, taken in shown),
        held=tuple(spans),
        months=scale.months(),
        today=scale.at(today),
        taken=sum(taken for _, taken in shown),
        refused=sum(not taken for _, taken in shown),
    )


@dataclass(frozen=True)
class Balance:
    """A weight as a bar from the middle of a scale: a female's to the left, a male's to the right."""

    x: float
    width: float
    female: bool


WIDEST = 3.0  # powers of ten of a likelihood ratio: beyond a thousand the bar stays as long


def balance(weight: float) -> Balance:
    """The bar of a natural log likelihood ratio, in per cent of the width."""
    share = min(abs(weight) / math.log(10) / WIDEST, 1.0) * 50
    return Balance(round(50 - share if weight > 0 else 50, 2), round(share, 2), weight > 0)


@dataclass(frozen=True)
class Climb:
    """A chance against a number of animals: bars, the level asked for, and the first bar that reaches it."""

    bars: tuple[tuple[float, float, float, float], ...]  # x and width in per cent, y and height in pixels
    marks: tuple[Tick, ...]
    level: float
    at: float | None
    height: int
    base: int


CLIMB_TOP, CLIMB_BASE, CLIMB_HEIGHT = 16.0, 168, 200


def climb(chances: Sequence[tuple[int, float]], wanted: float) -> Climb:
    """The bars of (number of animals, chance), with a mark under about ten of them."""
    count = len(chances)
    step = max(1, round(count / 10))
    wide = 100 / count
    depth = CLIMB_BASE - CLIMB_TOP
    bars = tuple(
        (round(i * wide + wide * 0.12, 3), round(wide * 0.76, 3), round(CLIMB_BASE - p * depth, 1), round(p * depth, 1))
        for i, (_, p) in enumerate(chances)
    )
    marks = tuple(Tick(round((i + 0.5) * wide, 3), str(n)) for i, (n, _) in enumerate(chances) if i % step == 0)
    reached = next((i for i, (_, p) in enumerate(chances) if p >= wanted - 1e-12), None)
    at = None if reached is None else round((reached + 0.5) * wide, 3)
    return Climb(bars, marks, round(CLIMB_BASE - wanted * depth, 1), at, CLIMB_HEIGHT, CLIMB_BASE)
