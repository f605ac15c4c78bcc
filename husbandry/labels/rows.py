"""The rows that a label is made of: each fits itself into a width, at a share of its preferred size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from husbandry.labels import faces, fitting, names
from husbandry.labels.content import Hazard, Name
from husbandry.labels.faces import FLOOR_PT, LINE, Face
from husbandry.labels.fitting import Line, Word
from husbandry.labels.items import Box, Item, Sign, Text, moved

FRAME = {1: 0.15, 2: 0.45, 3: 0.0}  # mm; the third is solid: ink grows with the class
MAIN_PT = 12.0
MAIN_SHARE = 0.5  # what is left of the others when the keeper's code goes below 12 points
INSET = 0.1  # mm between a plate and the lines above and below
PLATE_PAD = 0.55
PLATE_GAP = 1.0
PLATE_EXTRA = 0.7  # mm that a plate is higher than its line


@dataclass(frozen=True)
class Laid:
    """A fitted row: its height in mm, and its items from its own upper left corner."""

    height: float
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Row:
    """A row of plain words."""

    line: Line
    pt: float = FLOOR_PT
    gap: float = 0.0  # mm above it
    shorter: Line = ()  # says the same in fewer letters

    def size(self, share: float) -> float:
        """Its size at this share of what it would like, never below 8 points."""
        return max(FLOOR_PT, self.pt * share)

    def fit(self, width: float, share: float) -> Laid | None:
        """Fit into `width` mm; None when it cannot."""
        fitted = fitting.fit(self.line, width, self.size(share), self.shorter or None)
        return Laid(fitted.height, tuple(fitted.draw())) if fitted else None


NO_ROW = Row(())


@lru_cache(maxsize=8192)
def fit(row: Row, width: float, share: float) -> Laid | None:
    """Fit a row; the labels of a run say much the same, so each answer is kept."""
    return row.fit(width, share)


@dataclass(frozen=True)
class NameRow(Row):
    """A scientific name in italics; behind it its authorship where it fits there, else that is a row of its own."""

    authorship: Line = ()
    may_abbreviate: bool = False

    def size(self, share: float) -> float:
        """Names hold out longer than the rest: they are what one looks for."""
        return max(FLOOR_PT, self.pt * math.sqrt(share))

    def fit(self, width: float, share: float) -> Laid | None:
        """Fit the name, and on its last line the authorship, which does not make the name any smaller."""
        shorter = _set(names.abbreviated(_runs(self.line))) if self.may_abbreviate else None
        fitted = fitting.fit(self.line, width, self.size(share), shorter)
        if fitted is None:
            return None
        return Laid(fitted.height, (*fitted.draw(), *self._behind(fitted, width)))

    def _behind(self, fitted: fitting.Fitted, width: float) -> list[Text]:
        used = fitting.line_width(fitted.lines[-1], fitted.pt) + faces.em(fitted.pt) * 0.45
        pt = max(FLOOR_PT, fitted.pt * 0.75)
        if not self.authorship or used + fitting.line_width(self.authorship, pt) > width:
            return []
        base = fitted.draw()[-1].y
        return [Text(used, base, " ".join(word.text for word in self.authorship), Face.PLAIN, pt)]


def name_rows(
    name: Name, pt: float, width: float, share: float, *, authorship: bool, abbreviate: bool
) -> list[Row]:  # fmt: skip
    """Return the row of a scientific name that has `width` mm, and that of its authorship when it needs one."""
    line, by = _set(names.runs(name.name)), fitting.words(name.authorship) if authorship else ()
    row = NameRow(line, pt, authorship=by, may_abbreviate=abbreviate)
    laid = fit(row, width, share)
    if not by or (laid and any(item.face is Face.PLAIN for item in laid.items if isinstance(item, Text))):
        return [row]
    return [replace(row, authorship=()), Row(by, pt * 0.75)]


@dataclass(frozen=True)
class CodeRow(Row):
    """The keeper's own code, large, with the sex mark behind it."""

    sex: str = ""

    def size(self, share: float) -> float:
        """Read at 60 cm from 12 points on (17.7 minutes of arc), so it gives those up last, by and by."""
        last = FLOOR_PT + (MAIN_PT - FLOOR_PT) * min(share / MAIN_SHARE, 1.0)
        return max(self.pt * share, min(self.pt, last))

    def fit(self, width: float, share: float) -> Laid | None:
        """Fit the code beside its mark, which is as high as the capitals and half as much again."""
        for size in self._sizes(share):
            mark = faces.em(size) * 1.12 if self.sex else 0.0
            fitted = fitting.fit(self.line, width - mark * 1.25, size)
            if fitted and (len(fitted.lines) == 1 or size == FLOOR_PT):
                return self._laid(fitted, mark)
        return None

    def _sizes(self, share: float) -> list[float]:
        size = self.size(share)
        steps = int((size - FLOOR_PT) / 0.5)
        return [size - step * 0.5 for step in range(steps + 1)] + [FLOOR_PT]

    def _laid(self, fitted: fitting.Fitted, mark: float) -> Laid:
        items: list[Item] = list(fitted.draw())
        if self.sex:
            last = fitted.lines[-1]
            top = fitted.draw()[-1].y - (faces.CAPITALS * faces.em(fitted.pt) + mark) / 2
            items.append(Sign(fitting.line_width(last, fitted.pt) + mark * 0.22, max(top, 0.0), mark, self.sex))
        return Laid(max(fitted.height, mark), tuple(items))


@dataclass(frozen=True)
class PairRow(Row):
    """Two short rows side by side, for labels of a few lines: the second stands at the right."""

    left: Row = NO_ROW
    right: Row = NO_ROW

    def fit(self, width: float, share: float) -> Laid | None:
        """Fit both on one line, the left one shrinking first."""
        right = self.right.fit(width, share)
        room = width - (_right(right.items) if right else width) - PLATE_GAP
        left = self.left.fit(room, share) if room > 0 else None
        if not left or not right:
            return None
        base = max(item.y for item in left.items if isinstance(item, Text))
        drop = base - next(item.y for item in right.items if isinstance(item, Text))
        items = (*left.items, *moved(right.items, width - _right(right.items), drop))
        return Laid(max(left.height, right.height + drop), items)


@dataclass(frozen=True)
class HazardRow(Row):
    """Plates of the hazard classes, ink growing with the class; behind each what it means."""

    hazards: tuple[Hazard, ...] = ()
    worded: bool = True

    def fit(self, width: float, share: float) -> Laid | None:
        """With words each class has its own line, without they stand side by side while there is room."""
        rows: list[Laid | None]
        if self.worded:
            rows = [self._worded(one, width, share) for one in self.hazards]
        else:
            rows = list(self._plates(width, share))
        items: list[Item] = []
        x = y = height = 0.0
        for row in rows:
            if row is None or (own := _right(row.items)) > width:
                return None
            if x and (self.worded or x + own > width):
                x, y, height = 0.0, y + height + 0.4, 0.0
            items += moved(row.items, x, y)
            x, height = x + own + PLATE_GAP, max(height, row.height)
        return Laid(y + height, tuple(items))

    def _plates(self, width: float, share: float) -> list[Laid]:
        """All side by side; where they are too wide so, the letter V or H stands without its drawing."""
        drawn = [self._plate(one, share) for one in self.hazards]
        wide = sum(_right(plate.items) for plate in drawn) + PLATE_GAP * (len(drawn) - 1)
        return drawn if wide <= width else [self._plate(one, share, drawn=False) for one in self.hazards]

    def _plate(self, hazard: Hazard, share: float, *, drawn: bool = True) -> Laid:
        """The mark and the class in a frame."""
        pt = self.size(share)
        em, line = faces.em(pt), LINE * faces.em(pt)
        inverse = hazard.level > 2
        height, mark = line + PLATE_EXTRA * share, em * 1.0
        left = PLATE_PAD + mark + 0.4 if drawn else PLATE_PAD + 0.2
        text = Text(left, (height + faces.CAPITALS * em) / 2, hazard.text, Face.BOLD, pt, inverse)
        wide = text.x + text.width + PLATE_PAD + 0.2
        box = Box(0, INSET, wide, height - 2 * INSET, FRAME[min(hazard.level, 3)], inverse)
        sign = Sign(PLATE_PAD + 0.1, (height - mark) / 2, mark, hazard.mark, inverse)
        return Laid(height, (box, sign, text) if drawn else (box, text))

    def _worded(self, hazard: Hazard, width: float, share: float) -> Laid | None:
        plate = self._plate(hazard, share)
        x = _right(plate.items) + PLATE_GAP
        if not hazard.words:
            return plate
        words = fitting.fit(fitting.words(hazard.words), width - x, self.size(share)) if width > x else None
        if words is None:
            return None
        one_line = len(words.lines) == 1
        first = words.draw()[0].y
        top = (plate.height + faces.CAPITALS * faces.em(words.pt)) / 2 - first if one_line else 0.35
        return Laid(max(plate.height, top + words.height), (*plate.items, *words.draw(x, top)))


def _set(words: list[names.Run]) -> Line:
    return tuple(Word(text, Face.ITALIC if italic else Face.SERIF) for text, italic in words)


def _runs(line: Line) -> list[names.Run]:
    return [(word.text, word.face is Face.ITALIC) for word in line]


def _right(items: Sequence[Item]) -> float:
    return max(item.rect[2] for item in items)
