"""A rack drawn as its shelves: what stands where, who lives there, what is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from collection.models import Due
from husbandry.isolation import Mark
from husbandry.models import Enclosure, Place

NOTHING: Mapping[int, Sequence[Mark]] = {}
DUE_HERE = ("feed", "water", "upkeep", "hardening")


@dataclass
class Cell:
    """One enclosure with who lives there, and whether something is due for them."""

    enclosure: Any  # an Enclosure with its `open_stays`
    due: bool = False
    marks: Sequence[Mark] = ()  # what is to be said of it: keep apart, neighbour, quarantine

    @property
    def animals(self) -> list[Any]:
        """Who lives there."""
        return [stay.specimen for stay in self.enclosure.open_stays]


@dataclass
class Shelf:
    """A shelf, tray or rack with what stands on it, from left to right."""

    place: Place | None
    cells: list[Cell] = field(default_factory=list)


def drawn(enclosures: list[Enclosure], today: date, marks: Mapping[int, Sequence[Mark]] = NOTHING) -> list[Shelf]:
    """The shelves of these enclosures, which come in walking order and with their occupants. One query."""
    ids = [stay.specimen_id for enclosure in enclosures for stay in enclosure.open_stays]  # type: ignore[attr-defined]
    due = set(Due.objects.due(today).of(*DUE_HERE).filter(specimen__in=ids).values_list("specimen_id", flat=True))
    shelves: list[Shelf] = []
    for enclosure in enclosures:
        if not shelves or shelves[-1].place != enclosure.place:
            shelves.append(Shelf(enclosure.place))
        cell = Cell(enclosure, marks=marks.get(enclosure.pk, ()))
        cell.due = any(animal.pk in due for animal in cell.animals)
        shelves[-1].cells.append(cell)
    return shelves
