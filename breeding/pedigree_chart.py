"""Where each ancestor stands in a pedigree drawing: columns by generation, one row for each end of a line.

An ancestor that comes twice is drawn out once; after that its place says only which letter it has. So the drawing
stays readable at five generations, and a letter seen twice is the inbreeding.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

Id = Any  # hashable: what animals are told apart by
GENERATIONS = 5
ROW = 46  # px


@dataclass(frozen=True)
class Box:
    """One ancestor, or an unknown one, in its place; `x` in per cent, `y` in px."""

    id: Id | None
    role: str  # "", "dam", "sire"
    column: int
    x: float
    y: float
    letter: str = ""  # it stands in the drawing more than once
    again: bool = False  # drawn out elsewhere


@dataclass(frozen=True)
class Elbow:
    """The lines from one animal to its parents."""

    x_from: float
    x_mid: float
    x_to: float
    y: float
    y_dam: float
    y_sire: float


@dataclass
class Chart:
    """The whole drawing."""

    width: float  # of a column, per cent
    boxes: list[Box] = field(default_factory=list)  # the animal, then each parent followed by its own
    elbows: list[Elbow] = field(default_factory=list)
    height: int = ROW


def layout(parents: Mapping[Id, tuple[Id | None, Id | None]], root: Id, generations: int = GENERATIONS) -> Chart:
    """Place an animal and its ancestors; `parents` gives (dam, sire) of everybody who is known.

    Errors: ValueError for fewer than one generation.
    """
    if generations < 1:
        raise ValueError("A pedigree shows one generation at least.")
    drawing = _Drawing(parents, generations)
    drawing.count(root, 0)
    drawing.place(root, "", 0)
    drawing.chart.height = max(drawing.rows, 1) * ROW
    return drawing.chart


class _Drawing:
    def __init__(self, parents: Mapping[Id, tuple[Id | None, Id | None]], generations: int) -> None:
        self.parents, self.generations = parents, generations
        self.chart = Chart(100 / generations)
        self.rows = 0
        self.times: dict[Id, int] = {}
        self.letters: dict[Id, str] = {}
        self.drawn: set[Id] = set()

    def count(self, one: Id, column: int) -> None:
        """How often each ancestor would stand in the drawing, were every line drawn out."""
        self.times[one] = self.times.get(one, 0) + 1
        if column + 1 < self.generations and self.times[one] == 1:
            for parent in self.parents.get(one, (None, None)):
                if parent is not None:
                    self.count(parent, column + 1)

    def place(self, one: Id | None, role: str, column: int) -> float:
        """Draw one and everybody above it; returns its height."""
        at = len(self.chart.boxes)
        letter = self._letter(one)
        again = one in self.drawn
        self.chart.boxes.append(Box(None, role, column, 0, 0))
        dam, sire = self.parents.get(one, (None, None)) if one is not None else (None, None)
        if one is not None and (column + 1 < self.generations or (dam is None and sire is None)):
            self.drawn.add(one)
        if again or column + 1 >= self.generations or (dam is None and sire is None):
            y = self.rows * ROW + ROW / 2
            self.rows += 1
        else:
            y_dam = self.place(dam, "dam", column + 1)
            y_sire = self.place(sire, "sire", column + 1)
            y = (y_dam + y_sire) / 2
            left, width = column * self.chart.width, self.chart.width
            self.chart.elbows.append(
                Elbow(left + 0.6 * width, left + 0.88 * width, left + width - 0.5, y, y_dam, y_sire)
            )
        self.chart.boxes[at] = Box(one, role, column, round(column * self.chart.width, 3), y, letter, again)
        return y

    def _letter(self, one: Id | None) -> str:
        if one is None or self.times.get(one, 0) < 2:
            return ""
        if one not in self.letters:
            number = len(self.letters)
            self.letters[one] = chr(ord("A") + number % 26) * (1 + number // 26)
        return self.letters[one]
