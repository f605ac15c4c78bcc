"""Papers: sheets of labels and rolls, in millimetres, and where each label falls.

The sheets are the common cuts of label stock for office printers, the rolls the common sizes of label printers; every
figure can be replaced by the keeper's own. A roll is a paper whose page is the label.
"""

from __future__ import annotations

from dataclasses import dataclass

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)
MOST_ON_A_PAGE = 400
SMALLEST_MM, LARGEST_MM = 10.0, 320.0
UNPRINTABLE_MM = 4.5  # what office printers leave white along the edge of a sheet
SLACK_MM = 0.05  # figures given to a tenth of a millimetre may add up to a little more than the page


@dataclass(frozen=True)
class Paper:
    """One kind of label stock; all lengths in mm, `left` and `top` to the first label."""

    name: str
    page_width: float
    page_height: float
    label_width: float
    label_height: float
    columns: int = 1
    rows: int = 1
    left: float = 0.0
    top: float = 0.0
    pitch_x: float = 0.0
    pitch_y: float = 0.0

    @property
    def is_roll(self) -> bool:
        """Whether each label is a page of its own."""
        return self.places == 1 and (self.label_width, self.label_height) == (self.page_width, self.page_height)

    @property
    def places(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def border(self) -> tuple[float, float]:
        """The white border inside each label, across and down, mm.

        Wide enough for the printer's own drift, and on sheets for the edge that office printers cannot reach.
        """
        small = min(self.label_width, self.label_height) < 16
        own = 1.5 if self.is_roll else 1.0 if small else 2.0 if self.label_height >= 30 else 1.5
        if self.is_roll:
            return own, own
        return max(own, UNPRINTABLE_MM - self._edge(0)), max(own, UNPRINTABLE_MM - self._edge(1))

    def _edge(self, axis: int) -> float:
        """The nearer distance, mm, of the outermost labels to the edge of the page."""
        page = (self.page_width, self.page_height)[axis]
        first = (self.left, self.top)[axis]
        return max(min(first, page - first - self._span(axis)), 0.0)

    def _span(self, axis: int) -> float:
        """From the first label's edge to the last one's, mm."""
        if axis == 0:
            return (self.columns - 1) * self.pitch_x + self.label_width
        return (self.rows - 1) * self.pitch_y + self.label_height

    def check(self) -> None:
        """Raise ValueError, with a sentence for the keeper, when the figures cannot be a paper."""
        for length in (self.page_width, self.page_height, self.label_width, self.label_height):
            if not SMALLEST_MM <= length <= LARGEST_MM:
                raise ValueError(f"Pages and labels are between {SMALLEST_MM:g} and {LARGEST_MM:g} mm long.")
        if self.columns < 1 or self.rows < 1 or self.places > MOST_ON_A_PAGE:
            raise ValueError(f"A page holds between 1 and {MOST_ON_A_PAGE} labels.")
        if (self.columns > 1 and self.pitch_x < self.label_width) or (
            self.rows > 1 and self.pitch_y < self.label_height
        ):
            raise ValueError("The labels would overlap: from one label to the next is at least a label's own length.")
        if self.left < 0 or self.top < 0:
            raise ValueError("The first label cannot begin outside the page.")
        for axis, page, word in ((0, self.page_width, "wide"), (1, self.page_height, "high")):
            need = (self.left, self.top)[axis] + self._span(axis)
            if need > page + SLACK_MM:
                raise ValueError(f"The labels need {need:g} mm, but the page is {page:g} mm {word}.")

    def place(self, index: int) -> tuple[int, float, float]:
        """Return (page, x, y) of the label at `index`, both from 0; x and y in mm from the page's upper left corner."""
        page, rest = divmod(index, self.places)
        row, column = divmod(rest, self.columns)
        return page, self.left + column * self.pitch_x, self.top + row * self.pitch_y

    def pages(self, count: int, start: int = 1) -> int:
        """Return how many pages `count` labels take when the first goes to place `start` (from 1)."""
        return -(-(start - 1 + count) // self.places)


def sheet(
    page: tuple[float, float], columns: int, rows: int, label: tuple[float, float], first: tuple[float, float],
    pitch: tuple[float, float],
) -> Paper:  # fmt: skip
    """Return a sheet; pairs are (across, down) in mm."""
    name = f"{'A4' if page == A4 else 'Letter'}, {columns} × {rows}"
    return Paper(name, *page, *label, columns, rows, *first, *pitch)


def roll(width: float, height: float, name: str = "") -> Paper:
    """Return a roll whose label is `width` × `height` mm."""
    return Paper(name or f"Roll, {width:g} × {height:g} mm", width, height, width, height)


SHEETS = {
    "a4-3x8": sheet(A4, 3, 8, (63.5, 33.9), (7.25, 12.9), (66.0, 33.9)),
    "a4-3x7": sheet(A4, 3, 7, (63.5, 38.1), (7.25, 15.15), (66.0, 38.1)),
    "a4-2x7": sheet(A4, 2, 7, (99.1, 38.1), (4.65, 15.15), (101.6, 38.1)),
    "a4-4x12": sheet(A4, 4, 12, (45.7, 21.2), (9.85, 21.3), (48.2, 21.2)),
    "a4-5x13": sheet(A4, 5, 13, (38.1, 21.2), (4.75, 10.7), (40.6, 21.2)),
    "a4-3x8-full": sheet(A4, 3, 8, (70.0, 37.0), (0.0, 0.5), (70.0, 37.0)),
    "letter-3x10": sheet(LETTER, 3, 10, (66.7, 25.4), (4.8, 12.7), (69.8, 25.4)),
    "letter-2x5": sheet(LETTER, 2, 5, (101.6, 50.8), (3.95, 12.7), (106.4, 50.8)),
    "letter-4x20": sheet(LETTER, 4, 20, (44.45, 12.7), (7.65, 12.7), (52.05, 12.7)),
}
ROLL_SIZES = ((30, 20), (40, 30), (50, 25), (50, 30), (57, 32), (62, 29), (89, 36), (102, 152))
ROLLS = {f"roll-{width}x{height}": roll(width, height) for width, height in ROLL_SIZES}
PAPERS = {**SHEETS, **ROLLS}
