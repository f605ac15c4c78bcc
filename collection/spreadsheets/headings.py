"""Which row holds the headings, and what to call columns that have none or share one."""

import re
from dataclasses import dataclass
from statistics import median_low

from collection.spreadsheets.cells import Cell, is_blank, shortened
from collection.spreadsheets.columns import is_known_heading

_NUMBER_OR_DATE = re.compile(r"[-+]?[\d.,:/ -]+")


@dataclass(frozen=True)
class Headings:
    """The row (0 = first filled row) that holds the headings, and their texts as written."""

    row: int
    names: tuple[str, ...]

    def completed(self, width: int, notes: list[str]) -> tuple[str, ...]:
        """One distinct, non-empty name for each of `width` columns; what had to be changed is appended to `notes`."""
        if width > len(self.names):
            first = column_name(len(self.names))
            notes.append(f"Some rows are longer than the headings; what is beyond stands under “{first}” and on.")
        texts = [*self.names, *[""] * (width - len(self.names))]
        names: list[str] = []
        taken: set[str] = set()
        for index, text in enumerate(texts):
            base = text or column_name(index)
            name, again = base, 1
            while name.casefold() in taken:
                again += 1
                name = f"{base} ({again})"
            if name != base:
                notes.append(
                    f"The heading “{shortened(base)}” stands more than once; one is shown as “{shortened(name, 50)}”."
                )
            taken.add(name.casefold())
            names.append(name)
        return tuple(names)


def column_name(index: int) -> str:
    """What a spreadsheet calls the column: 0 → "Column A", 26 → "Column AA"."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"Column {letters}"


def find_headings(rows: list[list[Cell]]) -> Headings:
    """The headings among the first filled rows: the row with most known headings, else the first that looks the part.

    That is a row that fills at least half as many cells as the usual row and holds neither number nor date.
    """
    known = [sum(is_known_heading(text) for text in _texts(row)) for row in rows]
    best = max(known)
    if best >= 2 or (best == 1 and len(rows[known.index(1)]) == 1):
        return _headings(rows, known.index(best))
    usual = median_low([_filled(row) for row in rows])
    for index, row in enumerate(rows):
        if 2 * _filled(row) >= usual and all(_is_wordy(cell) for cell in row):
            return _headings(rows, index)
    return _headings(rows, 0)


def _headings(rows: list[list[Cell]], index: int) -> Headings:
    texts = _texts(rows[index])
    while texts and not texts[-1]:
        texts.pop()
    return Headings(index, tuple(texts))


def _texts(row: list[Cell]) -> list[str]:
    return [shortened(" ".join(str(cell).split()), 120) if not is_blank(cell) else "" for cell in row]


def _filled(row: list[Cell]) -> int:
    return sum(not is_blank(cell) for cell in row)


def _is_wordy(cell: Cell) -> bool:
    if is_blank(cell):
        return True
    return isinstance(cell, str) and not _NUMBER_OR_DATE.fullmatch(cell.strip())


def same_row(cells: list[Cell], headings: list[Cell]) -> bool:
    """True when the row repeats the headings, as printed lists do at the top of each page."""
    if len(cells) < 2 or cells[0] != headings[0]:
        return False
    return [text for text in _texts(cells) if text] == [text for text in _texts(headings) if text]
