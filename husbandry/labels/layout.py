"""One label: the code in the lower right corner, the name above it over the whole width, the rest beside it.

Text flows from the top and from the bottom until it meets; beside the code a line is as much shorter. All sizes shrink
together, down to 8 points. What then still finds no room gives way, least needed first, and is reported.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from husbandry.labels import codes, faces, fitting, rows
from husbandry.labels.content import CARE, LIVE, WHOM_TO_ASK, Content, Kind, Part
from husbandry.labels.faces import FLOOR_PT, LINE, Face
from husbandry.labels.items import QUIET, Code, Item, Rect, Text, moved
from husbandry.labels.papers import Paper
from husbandry.labels.rows import MAIN_PT, CodeRow, HazardRow, Laid, PairRow, Row, name_rows

REFERENCE = (63.5, 33.9)  # mm: the label that the preferred sizes are drawn for
SMALLEST, LARGEST = 0.75, 2.25  # how far they follow the size of other labels
NAME_PT, CODE_PT, LINE_PT = 11.5, 15.0, 8.5
COLUMN_MM = 14.0  # a narrower column beside the code is of no use
GOOD_COLUMN_MM, TALL_MM = 24.0, 22.0  # with so much height above the code nothing need squeeze in beside it
CLEAR_MM = 0.3
FACTS = (Part.DATE, Part.PLACE, Part.LISTING, Part.DESCENT, Part.PRICE)
LINES_OF_A_CUP = 4.3  # name, code, hazard plates and tag, one below the other
SHARES = (1.0, 0.94, 0.88, 0.82, 0.76, 0.7, 0.64, 0.58, 0.52, 0.45, 0.38, 0.3, 0.2, 0.1, 0.0)


@dataclass(frozen=True)
class Form:
    """What all labels of a run have in common; `dots` printer dots make a module."""

    kind: Kind
    paper: Paper
    parts: frozenset[Part]
    house: str
    dpi: int
    dots: int

    @property
    def module(self) -> float:
        """The module in mm."""
        return self.dots * codes.dot(self.dpi)

    @cached_property
    def modules(self) -> int:
        """Modules along an edge of the code."""
        return codes.modules(self.house)

    @cached_property
    def holds_name_above(self) -> bool:
        """Whether a name with its authorship stands above the code, over the whole width, at their preferred sizes."""
        lines = (NAME_PT + 0.75 * NAME_PT + LINE_PT) * self.scale
        edge = (self.modules + 2 * QUIET) * self.module
        return self.paper.label_height - edge - 2 * self.paper.border[1] >= LINE * faces.em(lines)

    @cached_property
    def scale(self) -> float:
        """How preferred sizes follow the size of the label."""
        width, height = self.paper.label_width, self.paper.label_height
        return min(max(min(width / REFERENCE[0], height / REFERENCE[1]), SMALLEST), LARGEST)


@dataclass(frozen=True)
class Label:
    """A composed label: what is drawn, and which parts found no room."""

    items: tuple[Item, ...]
    left_out: tuple[Part, ...] = ()


def parts_that_fit(form: Form, content: Content) -> tuple[Part, ...] | None:
    """Return the parts that find room at 8 points; None when not even what a label must carry does.

    What is least needed gives way first, and comes back if it can once another has gone.
    """
    wanted = wanted_parts(form, content)
    kept = wanted
    while _attempt(form, content, kept, SHARES[-1]) is None:
        if not kept:
            return None
        kept = kept[1:]
    for part in reversed(wanted[: len(wanted) - len(kept)]):
        again = tuple(other for other in wanted if other in kept or other is part)
        kept = again if _attempt(form, content, again, SHARES[-1]) else kept
    return kept


def wanted_parts(form: Form, content: Content) -> tuple[Part, ...]:
    """Return the parts that were chosen and that this label has something to say under, least needed first."""
    return tuple(part for part in Part if part in form.parts and _says(content, part, form.kind))


def compose(form: Form, content: Content, parts: tuple[Part, ...]) -> Label:
    """Return the label with these parts, which must fit, as large as they can be."""
    low, high = 0, len(SHARES) - 1
    best = _attempt(form, content, parts, SHARES[high])
    if best is None:
        raise ValueError(f"{content.code} does not fit with {parts}")
    while low < high:
        middle = (low + high) // 2
        found = _attempt(form, content, parts, SHARES[middle])
        best, low, high = (found, low, middle) if found else (best, middle + 1, high)
    items = [item for laid, x, y in best.rows for item in moved(laid.items, x, y)]
    left_out = tuple(part for part in wanted_parts(form, content) if part not in parts)
    return Label((*items, *best.frame.own_items()), left_out)


def _says(content: Content, part: Part, kind: Kind) -> bool:
    """Whether this label has anything to say under this part."""
    if part is Part.HELP:
        return kind is Kind.TRANSPORT and bool(content.hazards)
    if part is Part.AUTHORSHIP:
        return any(name.authorship for name in content.names)
    if part is Part.WORDS:
        return any(hazard.words for hazard in content.hazards)
    if part is Part.NOTE:
        return bool(content.note)
    return part is not Part.CUT and bool(getattr(content, part.value))


@dataclass(frozen=True)
class Arranged:
    """Rows that fit, each with the corner it goes to, and the frame they fit into."""

    frame: Frame
    rows: list[tuple[Laid, float, float]]


def _attempt(form: Form, content: Content, parts: Sequence[Part], share: float) -> Arranged | None:
    """The label with these parts at this share of the preferred sizes, or None when they do not fit."""
    frame = Frame(form, content, share)
    if not frame.holds_code:
        return None
    placed: list[tuple[Laid, float, float]] = []
    left, top = frame.border
    bottom = frame.floor
    for row in _upper(form, content, parts, frame):
        top += row.gap * share
        laid = frame.place(row, top, down=True)
        if laid is None or top + laid.height > bottom:
            return None
        placed.append((laid, left, top))
        top += laid.height
    for row in reversed(_lower(form, content, parts, frame)):
        laid = frame.place(row, bottom, down=False)
        if laid is None or bottom - laid.height < top:
            return None
        placed.append((laid, left, bottom - laid.height))
        bottom -= laid.height + row.gap * share
    return Arranged(frame, placed)


def _upper(form: Form, content: Content, parts: Sequence[Part], frame: Frame) -> list[Row]:
    """What hangs from the top: on a cup for travel the warning, then the names."""
    scale = form.scale
    found: list[Row] = []
    if form.kind is Kind.TRANSPORT:
        found.append(Row((*fitting.words(LIVE, Face.BOLD), *fitting.words(CARE)), MAIN_PT * scale))
    cups = form.kind is not Kind.ENCLOSURE
    by, width = Part.AUTHORSHIP in parts, frame.available(0.0, 0.0)
    for name in content.names:
        found += name_rows(name, NAME_PT * scale, width, frame.share, authorship=by, abbreviate=cups)
    if Part.COMMON in parts:
        found.append(Row(fitting.words(content.common), LINE_PT * scale))
    return found


def _lower(form: Form, content: Content, parts: Sequence[Part], frame: Frame) -> list[Row]:
    """What stands on the bottom: the keeper's code, facts, the hazard, and the tag where it has no room by the code."""
    size = LINE_PT * form.scale
    sex = content.sex if Part.SEX in parts else ""
    own = "" if content.lives_here else sex
    cups = form.kind is not Kind.ENCLOSURE
    code = max(MAIN_PT, CODE_PT * form.scale)
    tag = Row(fitting.words(content.clear_tag), size, 0.3)
    main = (*fitting.words(content.code, Face.BOLD), *fitting.words(content.count))
    first: Row = CodeRow(main, code, 0.6, sex=own)
    if frame.tag_by_name:
        first = PairRow((), 0, 0.6, left=first, right=tag)
    found = [first]
    if content.lives_here:
        found.append(CodeRow(fitting.words(content.lives_here), size * 1.15, sex=sex))
    for part in (part for part in FACTS if part in parts):
        shorter = content.short_date if part is Part.DATE and cups else ""
        found.append(Row(fitting.words(getattr(content, part.value)), size, shorter=fitting.words(shorter)))
    if not frame.tag_by_code and not frame.tag_by_name:
        found.append(tag)
    return found + _hazards(form, content, parts)


def _hazards(form: Form, content: Content, parts: Sequence[Part]) -> list[Row]:
    size = LINE_PT * form.scale
    found: list[Row] = []
    if content.hazards:
        found.append(HazardRow((), size, 0.5, hazards=content.hazards, worded=Part.WORDS in parts))
    if content.note and Part.NOTE in parts:
        found.append(Row(fitting.words(_sentence(content.note)), size, 0.3))
    elif content.note and not content.hazards:
        found.append(Row(fitting.words(_sentence(content.short_note), Face.BOLD), size, 0.3))
    if Part.HELP in parts:
        found.append(Row(fitting.words(WHOM_TO_ASK), size, 0.3))
    return found


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


class Frame:
    """The label's borders, its code and its tag, and how wide a line is at a height. All in mm."""

    def __init__(self, form: Form, content: Content, share: float) -> None:
        self.form, self.content, self.share = form, content, share
        self.width, self.height = form.paper.label_width, form.paper.label_height
        self.border = form.paper.border
        self.quiet = QUIET * form.module
        self.edge = (form.modules + 2 * QUIET) * form.module
        self.tag_pt = max(FLOOR_PT, LINE_PT * form.scale * share)
        self.tag_line = LINE * faces.em(self.tag_pt)
        column = self.width - self.edge - self.border[0]
        above = self.height - self.edge - self.tag_line - 2 * self.border[1]
        self.beside = column >= COLUMN_MM and (column >= GOOD_COLUMN_MM or above < TALL_MM)
        one_line = LINE * faces.em(FLOOR_PT)
        self.tag_by_code = above >= one_line
        lines = (self.height - 2 * self.border[1]) / one_line
        self.tag_by_name = not self.tag_by_code and lines < LINES_OF_A_CUP
        self.code = self._code_rect()
        self.tag = self._tag_rect() if self.tag_by_code else None

    @property
    def holds_code(self) -> bool:
        """Whether the code with its quiet zone lies on the label at all."""
        return self.code[0] >= -0.01 and self.code[1] >= -0.01

    @property
    def floor(self) -> float:
        """Down to where text may go."""
        return self.height - self.border[1] if self.beside else self.code[1]

    def _code_rect(self) -> Rect:
        """The code's place: its quiet zone may be the border."""
        right = self.width - max(0.0, self.border[0] - self.quiet)
        if not self.beside:
            right = (self.width + self.edge) / 2
        bottom = self.height - max(0.0, self.border[1] - self.quiet)
        if self.tag_by_code:
            bottom = self.height - self.border[1] - self.tag_line
        return right - self.edge, bottom - self.edge, right, bottom

    def _tag_rect(self) -> Rect:
        """Below the code, ending where its dark part ends; in the middle where the code stands there."""
        wide = faces.width(self.content.clear_tag, Face.PLAIN, self.tag_pt)
        right = self.code[2] - self.quiet
        if not self.beside:
            right = (self.code[0] + self.code[2] + wide) / 2
        return right - wide, self.code[3], right, self.code[3] + self.tag_line

    def available(self, top: float, bottom: float) -> float:
        """Return how wide a row between these heights may be."""
        right = self.width - self.border[0]
        for rect in (self.code, self.tag):
            if rect and self.beside and bottom > rect[1] + 0.001 and top < rect[3] - 0.001:
                right = min(right, rect[0] - CLEAR_MM)
        return right - self.border[0]

    def place(self, row: Row, y: float, *, down: bool) -> Laid | None:
        """Fit a row below (or above) `y`: taller rows meet more of the code and get less width, until both agree."""
        height = 0.1
        for _ in range(12):
            top = y if down else y - height
            laid = rows.fit(row, self.available(top, top + height), self.share)
            if laid is None or laid.height <= height + 0.001:
                return laid
            height = laid.height
        return None

    def own_items(self) -> list[Item]:
        """The code, and the tag below it."""
        form, left, top = self.form, self.code[0] + self.quiet, self.code[1] + self.quiet
        url = codes.url(form.house, self.content.tag)
        items: list[Item] = [Code(left, top, form.module, url, form.modules)]
        if self.tag:
            base = self.tag[1] + faces.ASCENT * faces.em(self.tag_pt)
            items.append(Text(self.tag[0], base, self.content.clear_tag, Face.PLAIN, self.tag_pt))
        return items
