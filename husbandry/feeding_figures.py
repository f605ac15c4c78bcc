"""Geometry of the figures about feeding: per cent across, pixels down. Numbers in, numbers out; templates draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from collection.figures import MealStrip, Scale, Tick, meal_strip

ROW, TALLEST = 44, 30.0


@dataclass(frozen=True)
class Bar:
    """The feeds of one day: where it stands, how high it is, how many they are."""

    x: float
    y: float
    height: float
    number: int
    on: date


@dataclass(frozen=True)
class Plan:
    """The feeds of the coming weeks, under two rhythms one above the other, in one scale."""

    now: tuple[Bar, ...]
    then: tuple[Bar, ...]
    weeks: tuple[Tick, ...]


def plan(now: Sequence[int], then: Sequence[int], today: date) -> Plan:
    """Feeds a day from today on, as two rows of bars that stand on lines `ROW` px apart."""
    days = max(len(now), len(then), 1)
    scale = Scale(today, today + timedelta(days=days - 1))
    most = max([*now, *then, 1])

    def bars(counts: Sequence[int], base: float) -> tuple[Bar, ...]:
        found = []
        for day, number in enumerate(counts):
            if number:
                height = round(max(number / most * TALLEST, 4.0), 1)
                on = today + timedelta(days=day)
                found.append(Bar(round(scale.at(on) * 0.985, 2), round(base - height, 1), height, number, on))
        return tuple(found)

    return Plan(bars(now, ROW), bars(then, 2 * ROW), week_ticks(today, days, 14))


def week_ticks(today: date, days: int, every: int = 7) -> tuple[Tick, ...]:
    """The days on which weeks begin, on an axis of so many days from today."""
    starts = (today + timedelta(days=day) for day in range(0, days, every))
    return tuple(Tick(round((on - today).days / days * 100, 2), f"{on.day} {on:%b}") for on in starts)


@dataclass(frozen=True)
class Lasting:
    """How long a stock lasts on an axis of some days: sure up to `early`, likely up to `likely`, in per cent."""

    early: float
    likely: float

    @property
    def doubtful(self) -> float:
        """The width between the two."""
        return round(self.likely - self.early, 2)


def lasting(early: int | None, likely: int | None, days: int) -> Lasting:
    """Days from today until it may be out and until it likely is, on an axis of `days`."""
    first = 100.0 if early is None else round(min(early / days, 1.0) * 100, 2)
    last = 100.0 if likely is None else round(min(likely / days, 1.0) * 100, 2)
    return Lasting(first, max(first, last))


@dataclass(frozen=True)
class Year:
    """One calendar year of meals: its strip, and what it came to."""

    year: int
    strip: MealStrip
    longest: int  # days between two meals taken, or since the last one
    current: bool


def years(meals: Sequence[tuple[date, bool]], holds: Sequence[tuple[date, date | None]], today: date) -> list[Year]:
    """A strip for each calendar year with a meal in it, the newest first."""
    found = []
    taken = sorted(on for on, was_taken in meals if was_taken)
    for year in sorted({on.year for on, _ in meals}, reverse=True):
        last = min(date(year, 12, 31), today)
        strip = meal_strip(meals, holds, today, first=date(year, 1, 1), last=date(year, 12, 31))
        inside = [on for on in taken if on.year == year]
        before = max((on for on in taken if on.year < year), default=None)
        marks = [*([before] if before else []), *inside, last]
        gaps = [(b - a).days for a, b in pairwise(marks)]
        found.append(Year(year, strip, max(gaps, default=0), year == today.year))
    return found
