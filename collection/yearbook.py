"""The registry of what a year's review tells. Each app registers its own sections; names are keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Section:
    """One section: a sentence, and a table if there is one. With `taxa` the first column holds scientific names."""

    title: str
    says: str
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    taxa: bool = False


@dataclass(frozen=True)
class SectionKind:
    """A registered section: `tell` gets the first and the last day, and answers None where there is nothing."""

    name: str
    order: int
    tell: Callable[[date, date], Section | None]


section_kinds: dict[str, SectionKind] = {}


def register(name: str, order: int) -> Callable[[Callable[[date, date], Section | None]], SectionKind]:
    """Make a section known."""

    def keep(tell: Callable[[date, date], Section | None]) -> SectionKind:
        section_kinds[name] = SectionKind(name, order, tell)
        return section_kinds[name]

    return keep


def review(first: date, last: date) -> list[Section]:
    """All sections that have something to tell of these days, in order."""
    kinds = sorted(section_kinds.values(), key=lambda kind: (kind.order, kind.name))
    return [section for kind in kinds if (section := kind.tell(first, last)) is not None]
