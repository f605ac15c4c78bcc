"""The registry of what needs the keeper: kinds of due dates, sources for the house, panels beside the list.

It lies in the lowest app, so that every app can register and none needs to import another. Names are keys: a module
that is imported twice registers once.
"""

import logging
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any, TypeVar

from django.conf import settings

T = TypeVar("T")
logger = logging.getLogger(__name__)


class Urgency(StrEnum):
    """How much something wants doing. The order is the order of the list's counts."""

    OVER = "over"
    DUE = "due"
    LOOK = "look"
    HELD = "held"


@dataclass(frozen=True)
class StoredDue:
    """What a kind works out for one animal; see `collection.models.Due`."""

    specimen_id: int
    wanted_on: date
    due_on: date | None
    facts: dict[str, Any]
    ends_on: date | None = None


@dataclass(frozen=True)
class Action:
    """Something to do about it, in place: a form that posts `values`, or a link when `post` is false."""

    label: str
    url_name: str
    values: dict[str, str] = field(default_factory=dict)
    post: bool = True


@dataclass(frozen=True)
class Said:
    """One reason, in words: urgency, a short plate, a sentence, and what can be done at once."""

    urgency: Urgency
    plate: str
    sentence: str
    actions: tuple[Action, ...] = ()


def no_others(ids: Sequence[int]) -> Iterable[int]:
    """Most dues hang on their own animal alone."""
    return ()


@dataclass(frozen=True)
class DueKind:
    """A kind of due date. `work_out` gets specimen ids; `say` gets one stored due and today.

    `moves` gets the ids of animals that something happened to, and answers with others whose dues follow from it.
    """

    name: str
    title: str
    work_out: Callable[[Sequence[int]], Iterable[StoredDue]]
    say: Callable[[StoredDue, date], Said]
    in_list: bool = True  # whether it brings an animal into the list, or only adds a reason there
    by_day: bool = False  # whether it grows overdue; otherwise it wants a look
    order: int = 50
    moves: Callable[[Sequence[int]], Iterable[int]] = no_others


@dataclass(frozen=True)
class HouseItem:
    """Something that needs the keeper and concerns no single animal."""

    title: str
    said: Said


@dataclass(frozen=True)
class BesidePanel:
    """A panel beside the list: its template and what the template needs."""

    template: str
    context: dict[str, Any]


Derive = Callable[[Sequence[int] | None], None]

due_kinds: dict[str, DueKind] = {}
derived: dict[str, Derive] = {}  # other derived rows, by name
house_sources: dict[str, Callable[[date], Iterable[HouseItem]]] = {}
beside_panels: dict[str, Callable[[date], BesidePanel | None]] = {}


def register(kind: DueKind) -> DueKind:
    """Make a kind of due date known."""
    due_kinds[kind.name] = kind
    return kind


def derives(name: str) -> Callable[[Derive], Derive]:
    """Register what keeps derived rows of an upper app: it gets the ids of touched animals, or None for all anew."""

    def keep(derive: Derive) -> Derive:
        derived[name] = derive
        return derive

    return keep


def house_source(
    name: str,
) -> Callable[[Callable[[date], Iterable[HouseItem]]], Callable[[date], Iterable[HouseItem]]]:
    """Register a source of items for the house under a name."""

    def keep(source: Callable[[date], Iterable[HouseItem]]) -> Callable[[date], Iterable[HouseItem]]:
        house_sources[name] = source
        return source

    return keep


def beside(
    name: str,
) -> Callable[[Callable[[date], BesidePanel | None]], Callable[[date], BesidePanel | None]]:
    """Register a panel that stands beside the list."""

    def keep(source: Callable[[date], BesidePanel | None]) -> Callable[[date], BesidePanel | None]:
        beside_panels[name] = source
        return source

    return keep


UNSAID = Said(Urgency.LOOK, "not worked out", "This could not be worked out. The terminal of the program says why.")


def guarded(what: str, work: Callable[[], T], otherwise: T) -> T:
    """One source that fails does not take a page down: it is logged, and what stands in its place says so."""
    try:
        return work()
    except Exception:
        if not settings.CATCH_FAILING_SOURCES:
            raise
        logger.exception("%s failed", what)
        return otherwise


def said(kind: DueKind, due: StoredDue, today: date) -> Said:
    """The sentence of a kind for one due date, or that it could not be worked out."""
    return guarded(f"The sentence for {kind.title}", lambda: kind.say(due, today), UNSAID)


def kinds() -> list[DueKind]:
    """All kinds, in the order in which their reasons stand in a row."""
    return sorted(due_kinds.values(), key=lambda kind: (kind.order, kind.name))


@contextmanager
def registered(kind: DueKind) -> Iterator[DueKind]:
    """Register a kind for the length of a test."""
    before = due_kinds.get(kind.name)
    due_kinds[kind.name] = kind
    try:
        yield kind
    finally:
        if before is None:
            del due_kinds[kind.name]
        else:
            due_kinds[kind.name] = before
