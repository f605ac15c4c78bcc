"""A file as a table: headings found, rows numbered as the keeper's spreadsheet numbers them, oddities in words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain, islice

from collection.spreadsheets import csvtext, workbooks
from collection.spreadsheets.cells import Cell, Unreadable, is_blank, unguarded
from collection.spreadsheets.clocktimes import joined
from collection.spreadsheets.headings import find_headings, same_row
from collection.spreadsheets.limits import MAX_COLUMNS, MAX_FILE_BYTES, MAX_FILLED_CELLS, MAX_ROWS
from collection.spreadsheets.loggers import is_row_of_units, with_units

_LOOK_AHEAD = 40  # filled rows among which the headings are looked for
Record = tuple[int, list[Cell]]

_OTHER_KINDS = (
    (b"%PDF", "This is a PDF. A PDF has no cells to read; bring the sheet it was printed from, as CSV or XLSX."),
    (b"\xff\xd8\xff", "This is a picture, not a table. Bring the sheet itself, as CSV or XLSX."),
    (b"\x89PNG", "This is a picture, not a table. Bring the sheet itself, as CSV or XLSX."),
    (b"{\\rtf", "This is a text document, not a table. Copy the table into a sheet and save it as CSV or XLSX."),
    (b"SQLite format 3", "This is a database, not a table. Export the table from it as CSV and bring that file."),
)
_OLD_CONTAINER = (
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the compound file of old .xls, and of a workbook under a password
)


@dataclass(frozen=True)
class Table:
    """What was read: `rows` are as wide as `headings`; `numbers` holds each row's number in the file, from 1."""

    headings: tuple[str, ...]
    rows: list[tuple[Cell, ...]]
    numbers: list[int]
    notes: tuple[str, ...]
    sheet: str
    sheets: tuple[str, ...]
    encoding: str
    delimiter: str

    def with_clock(self, day: int, clock: int) -> "Table":
        """The same table with the times of one column joined to the dates of another."""
        headings = list(self.headings)
        headings[day] = f"{headings[day]}, {headings[clock]}"
        rows = [(*row[:day], joined(row[day], row[clock]), *row[day + 1 :]) for row in self.rows]
        return replace(self, headings=tuple(headings), rows=rows)

    def column(self, index: int) -> list[Cell]:
        """All cells of one column, top to bottom."""
        return [row[index] for row in self.rows]


def read_table(data: bytes, filename: str, sheet: str = "") -> Table:
    """The table in a CSV or XLSX file. `filename` is used in sentences only: the content decides what the file is.

    `sheet` names the sheet of a workbook; left empty, the first sheet with rows is read.
    Raises Unreadable with one sentence for anything that is no table or exceeds the limits of `limits.py`.
    """
    if len(data) > MAX_FILE_BYTES:
        raise Unreadable(f"This file is larger than {MAX_FILE_BYTES // 1024**2} MB. Split it, or leave out columns.")
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise Unreadable(f"“{filename}” is empty. Was the sheet saved before it was brought here?")
    _refuse_other_kinds(data)
    if data.startswith(b"PK"):
        return _from_workbook(data, sheet)
    return _from_text(data)


def _refuse_other_kinds(data: bytes) -> None:
    for start, sentence in _OTHER_KINDS:
        if data.startswith(start):
            raise Unreadable(sentence)
    if data.startswith(_OLD_CONTAINER):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise Unreadable("This workbook is locked with a password. Save it without one and bring that file.")
        raise Unreadable("This is a workbook in the old .xls format. Save it as XLSX or CSV and bring that file.")
    if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:15].lower().startswith((b"<!doctype", b"<html", b"<?xml", b"<table")):
        raise Unreadable(
            "This is a web page or XML, whatever its name says. Open it as a sheet and save it as CSV or XLSX."
        )


def _from_text(data: bytes) -> Table:
    decoded = csvtext.decode(data)
    delimiter, text = csvtext.delimiter_of(decoded.text)
    notes = []
    if decoded.guess:
        notes.append("The encoding is a guess: Windows-1252. Check that names with accents look right below.")
    if "\ufffd" in text:
        notes.append("Some letters could not be read and show as �; save the sheet as CSV UTF-8 or XLSX to keep them.")
    records: Iterator[Record] = ((number, list(row)) for number, row in csvtext.records(text, delimiter))
    table = _assembled(records, notes)
    if table is None:
        raise Unreadable("This file holds no filled cell.")
    return Table(*table, sheet="", sheets=(), encoding=decoded.encoding, delimiter=delimiter)


def _from_workbook(data: bytes, sheet: str) -> Table:
    with workbooks.opened(data) as workbook:
        if sheet and sheet not in workbook.sheets:
            raise Unreadable(f"The workbook has no sheet “{sheet}”. It has: {', '.join(workbook.sheets)}.")
        for name in [sheet] if sheet else workbook.sheets:
            notes = []
            if len(workbook.sheets) > 1:
                others = ", ".join(f"“{other}”" for other in workbook.sheets if other != name)
                notes.append(f"Read the sheet “{name}”; the workbook also has {others}.")
            table = _assembled(workbook.records(name), notes)
            if table is not None:
                return Table(*table, sheet=name, sheets=workbook.sheets, encoding="", delimiter="")
    raise Unreadable("This workbook holds no filled cell.")


_Assembled = tuple[tuple[str, ...], list[tuple[Cell, ...]], list[int], tuple[str, ...]]


def _assembled(records: Iterable[Record], notes: list[str]) -> _Assembled | None:
    """Headings, rows, row numbers and notes; None when nothing is filled in. Appends to `notes`."""
    filled = (record for record in records if not all(is_blank(cell) for cell in record[1]))
    ahead = list(islice(filled, _LOOK_AHEAD))
    if not ahead:
        return None
    found = find_headings([cells for _, cells in ahead])
    above, (_, heading_cells), below = ahead[: found.row], ahead[found.row], ahead[found.row + 1 :]
    if above:
        notes.append(f"{len(above)} row{'s' * (len(above) > 1)} above the headings left out.")
    if below and is_row_of_units(below[0][1]):
        number, units = below.pop(0)
        found = replace(found, names=tuple(with_units(found.names, units)))
        notes.append(f"Row {number} holds units; they are read with the headings.")
    rows, numbers = _body(chain(below, filled), heading_cells, notes)
    width = max([len(found.names), *map(len, rows)])
    if width > MAX_COLUMNS:
        raise Unreadable(_too_wide(width))
    headings = found.completed(width, notes)
    return headings, [_padded(row, width) for row in rows], numbers, tuple(notes)


def _body(records: Iterable[Record], heading_cells: list[Cell], notes: list[str]) -> tuple[list[list[Cell]], list[int]]:
    rows: list[list[Cell]] = []
    numbers: list[int] = []
    filled = repeated = 0
    for number, cells in records:
        if same_row(cells, heading_cells):
            repeated += 1
            continue
        while cells and is_blank(cells[-1]):
            cells.pop()
        filled += len(cells)
        _check_limits(len(rows) + 1, len(cells), filled)
        rows.append(cells)
        numbers.append(number)
    if repeated:
        notes.append(
            f"The headings are repeated {repeated} time{'s' * (repeated > 1)} further down; those rows were left out."
        )
    return rows, numbers


def _check_limits(rows: int, width: int, filled: int) -> None:
    if rows > MAX_ROWS:
        raise Unreadable(f"This table has more than {MAX_ROWS:,} rows. Split the file.")
    if width > MAX_COLUMNS:
        raise Unreadable(_too_wide(width))
    if filled > MAX_FILLED_CELLS:
        raise Unreadable(
            f"This table has more than {MAX_FILLED_CELLS:,} cells. Leave out columns that are not needed, or split it."
        )


def _too_wide(width: int) -> str:
    return f"This table has {width} columns; at most {MAX_COLUMNS} can be read. Is the sheet turned on its side?"


def _padded(row: list[Cell], width: int) -> tuple[Cell, ...]:
    cells = [unguarded(cell.strip()) if isinstance(cell, str) else "" if cell is None else cell for cell in row]
    return (*cells, *[""] * (width - len(cells)))
