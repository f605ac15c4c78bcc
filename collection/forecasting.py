"""The registry of kinds of forecasts that are kept and scored. Each app registers its own; names are keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date

from collection.intervals import IntervalForecast

Key = tuple[int, int]  # the animal, and the record that its wait is counted from


@dataclass(frozen=True)
class Promise:
    """What is said on one day: the forecast in days after the origin, and the chance that it comes at all."""

    forecast: IntervalForecast
    chance: float | None = None
    widened: float = 1.0


@dataclass(frozen=True)
class Running:
    """A wait that runs: since when, and what is said of it; worked out only when it is new."""

    since: date
    promise: Callable[[], Promise | None]


@dataclass(frozen=True)
class Ending:
    """What ended a wait: the event itself, or another one instead of it."""

    on: date
    came: bool


@dataclass(frozen=True)
class Waits:
    """The waits of some animals. One that is neither running nor ended was taken back or replaced."""

    running: Mapping[Key, Running] = field(default_factory=dict)
    ended: Mapping[Key, Ending] = field(default_factory=dict)


@dataclass(frozen=True)
class ForecastKind:
    """A kind of forecast: `waits` gets ids of animals. `instead` says what may come in its place, if anything."""

    name: str
    title: str
    event: str
    waits: Callable[[Sequence[int]], Waits]
    instead: str = ""
    order: int = 50


forecast_kinds: dict[str, ForecastKind] = {}


def register(kind: ForecastKind) -> ForecastKind:
    """Make a kind of forecast known."""
    forecast_kinds[kind.name] = kind
    return kind


def kinds() -> list[ForecastKind]:
    """All kinds, in the order of the page."""
    return sorted(forecast_kinds.values(), key=lambda kind: (kind.order, kind.name))


def say_widened(factor: float) -> str:
    """Why a window is wider than the model has it; nothing where it is not."""
    return (
        f" The window is {factor:g} times as wide as usual, for those told before held too little."
        if factor > 1
        else ""
    )


@contextmanager
def registered(kind: ForecastKind) -> Iterator[ForecastKind]:
    """Register a kind for the length of a test."""
    before = forecast_kinds.get(kind.name)
    forecast_kinds[kind.name] = kind
    try:
        yield kind
    finally:
        if before is None:
            del forecast_kinds[kind.name]
        else:
            forecast_kinds[kind.name] = before
