"""How large an animal was when a picture was taken, and what lies between two pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.models import Measurement, Molt, Photo, Specimen

MEASURES = {"carapace_mm": "carapace", "leg_span_mm": "leg span", "body_mm": "body"}


@dataclass(frozen=True)
class Size:
    """One measure, and the day it was taken on."""

    word: str
    mm: float
    since: date


@dataclass(frozen=True)
class Between:
    """What lies between two pictures: days, molts, and how each measure known at both times changed."""

    days: int
    molts: int
    grown: list[tuple[Size, Size]]


class Growth:
    """The dated sizes of one animal, read once."""

    def __init__(self, specimen: Specimen) -> None:
        self.molts: list[Molt] = list(specimen.molts.all())
        measured: list[Measurement] = list(specimen.measurements.all())
        self.dated: Sequence[Molt | Measurement] = sorted(
            [*self.molts, *measured], key=lambda row: row.latest, reverse=True
        )

    def on(self, day: date) -> list[Size]:
        """Each measure as last taken on the day or before it."""
        found = []
        for field, word in MEASURES.items():
            last = next((row for row in self.dated if row.latest <= day and getattr(row, field, None)), None)
            if last is not None:
                found.append(Size(word, getattr(last, field), last.latest))
        return found

    def between(self, older: Photo, newer: Photo) -> Between:
        """From one picture to a later one."""
        begin, end = older.latest, newer.latest
        molts = sum(begin < molt.latest <= end for molt in self.molts)
        after = {size.word: size for size in self.on(end)}
        grown = [(size, after[size.word]) for size in self.on(begin) if after[size.word].mm != size.mm]
        return Between((end - begin).days, molts, grown)
