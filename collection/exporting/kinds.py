"""The registry of what can be exported. Each app registers the lists of its own records.

A list is made of animals: all that pass the register's filters. The headings of what an import understands are those
that it knows by themselves, so that an exported file comes back as "the same"; derived columns bear headings that it
leaves alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Row = Sequence[Any]
IDS_AT_ONCE = 400


@dataclass(frozen=True)
class Export:
    """One list: its headings, and its rows for a queryset of animals. `come_back` tells whether it can be imported."""

    name: str
    title: str
    says: str
    order: int
    headings: Callable[[], Sequence[str]]
    rows: Callable[[Any], Iterator[Row]]


@dataclass(frozen=True)
class More:
    """Columns that an upper app adds to the list of animals: for some of them at once, by their number."""

    name: str
    order: int
    headings: tuple[str, ...]
    values: Callable[[Sequence[int]], Mapping[int, Row]]


exports: dict[str, Export] = {}
more: dict[str, More] = {}


def register(export: Export) -> Export:
    """Make a list known."""
    exports[export.name] = export
    return export


def add(columns: More) -> More:
    """Make columns of the list of animals known."""
    more[columns.name] = columns
    return columns


def in_order() -> list[Export]:
    """All lists, as they are offered."""
    return sorted(exports.values(), key=lambda export: export.order)


def added() -> list[More]:
    """What upper apps add to the list of animals, in order."""
    return sorted(more.values(), key=lambda columns: columns.order)
