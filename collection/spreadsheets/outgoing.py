"""Tables as files: CSV in two dialects and XLSX, row by row, with nothing in them that a spreadsheet would run.

A cell is text, a number, a yes or no, a day, a date of reduced precision, or nothing. What is written here reads back
through `tables.read_table` as what it was: dates as ISO, numbers that cannot be taken for thousands.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import IO, Any

from collection.dates import FuzzyDate
from collection.spreadsheets.cells import plain, safe_cell

BOM = "\ufeff"  # without it spreadsheets on Windows take UTF-8 for something else
LINES_AT_ONCE = 200
WIDEST, NARROWEST = 40, 8  # characters of a column in a workbook
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")  # a workbook cannot hold them


@dataclass(frozen=True)
class Dialect:
    """How one kind of CSV is written."""

    name: str
    label: str
    delimiter: str
    decimal: str


INTERNATIONAL = Dialect("csv", "CSV, international: commas between, decimal points", ",", ".")
LOCAL = Dialect("csv-local", "CSV for a spreadsheet with decimal commas: semicolons between", ";", ",")
DIALECTS = {dialect.name: dialect for dialect in (INTERNATIONAL, LOCAL)}


def number_text(value: float | Decimal, decimal: str) -> str:
    """A number without exponent. Three decimals get a zero more: 1.234 alone could be a thousand.

    >>> number_text(12.5, ","), number_text(1.125, "."), number_text(Decimal("45.50"), ".")
    ('12,5', '1.1250', '45.5')
    """
    text = plain(Decimal(str(value)))
    whole, point, part = text.partition(".")
    if len(part) == 3:
        part += "0"
    return f"{whole}{decimal if point else ''}{part}"


def text_cell(value: Any, decimal: str) -> str:
    """A cell of a CSV file."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float | Decimal):
        return number_text(value, decimal)
    if isinstance(value, dt.date | FuzzyDate):
        return str(value)
    return str(safe_cell(str(value)))


def csv_lines(headings: Sequence[str], rows: Iterable[Sequence[Any]], dialect: Dialect) -> Iterator[bytes]:
    """The file in pieces of some hundred lines, UTF-8 with its mark, never whole in memory."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=dialect.delimiter, lineterminator="\r\n")
    buffer.write(BOM)
    writer.writerow(headings)
    for number, row in enumerate(rows, start=1):
        writer.writerow([text_cell(value, dialect.decimal) for value in row])
        if number % LINES_AT_ONCE == 0:
            yield _emptied(buffer)
    yield _emptied(buffer)


def _emptied(buffer: io.StringIO) -> bytes:
    content = buffer.getvalue().encode()
    buffer.seek(0)
    buffer.truncate()
    return content


def write_workbook(file: IO[bytes], title: str, headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """An XLSX file with one sheet; numbers and days are what they are, headings stay in sight."""
    from openpyxl import Workbook  # 0.2 s that nobody waits for who exports nothing

    book: Any = Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    sheet.freeze_panes = "A2"
    for index, heading in enumerate(headings):
        letter = _letters(index)
        sheet.column_dimensions[letter].width = min(WIDEST, max(NARROWEST, len(heading) + 3))
    sheet.append(list(headings))
    for row in rows:
        sheet.append([workbook_cell(value) for value in row])
    book.save(file)


def workbook_cell(value: Any) -> Any:
    """A cell of a workbook. A date that is not one day is text; text that would be a formula gets its apostrophe."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, FuzzyDate):
        return value.earliest if value.exact else str(value)
    if value is None or isinstance(value, int | float | Decimal | dt.date):
        return value
    return safe_cell(CONTROL.sub("", str(value))) or None


def _letters(index: int) -> str:
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
