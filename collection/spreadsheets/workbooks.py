"""XLSX workbooks by openpyxl, read one row at a time, with the zip directory checked before anything is unpacked."""

import io
import threading
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import Any

from collection.spreadsheets.cells import Cell, Unreadable
from collection.spreadsheets.limits import (
    MAX_CELL_CHARACTERS,
    MAX_CELLS_LOOKED_AT,
    MAX_COLUMNS,
    MAX_RATIO,
    MAX_ROWS_LOOKED_AT,
    MAX_UNZIPPED_BYTES,
)

# One workbook at a time: nothing larger is ever held in memory, and warnings.catch_warnings is not thread-safe.
_ONE_AT_A_TIME = threading.Lock()
_SMALL_PART = 1024 * 1024  # a tiny, very regular part may compress above any ratio and harms nobody
_DAMAGED = "This workbook is damaged. Open it in your spreadsheet program, save it again and bring the new file."
_STRETCHED = (
    "The sheet is formatted far beyond what is filled in. Copy the filled cells into a new sheet and bring that."
)


def check_zip(data: bytes) -> None:
    """Raise Unreadable unless the zip directory promises an XLSX workbook of decent size. Nothing is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        raise Unreadable(_DAMAGED) from None
    _check_kind({part.filename for part in parts})
    if any(part.flag_bits & 1 for part in parts):
        raise Unreadable("This workbook is locked with a password. Save it without one and bring that file.")
    if sum(part.file_size for part in parts) > MAX_UNZIPPED_BYTES:
        raise Unreadable(f"Unpacked, this workbook is larger than {MAX_UNZIPPED_BYTES // 1024**2} MB. Split it.")
    large = [part for part in parts if part.file_size > _SMALL_PART]
    if any(part.file_size > MAX_RATIO * max(part.compress_size, 1) for part in large):
        raise Unreadable("This file unpacks to far more than its size, as no workbook does; it was not opened.")


def _check_kind(names: set[str]) -> None:
    if "xl/workbook.xml" in names:
        return
    if "xl/workbook.bin" in names:
        raise Unreadable("This is a binary workbook (.xlsb). Save it as XLSX or CSV and bring that file.")
    if "content.xml" in names or any(name.startswith("Index/") for name in names):
        raise Unreadable("This workbook is of another program's own format. Save it as XLSX or CSV.")
    if "[Content_Types].xml" not in names:
        raise Unreadable("This is a zip file without a workbook in it. Unpack it and bring the sheet itself.")


class Workbook:
    """An open workbook: its visible sheets by name, and the rows of each."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self.sheets: tuple[str, ...] = tuple(sheet.title for sheet in book.worksheets if sheet.sheet_state == "visible")

    def records(self, sheet: str) -> Iterator[tuple[int, list[Cell]]]:
        """Each row of the sheet with its number, from 1; cells without content are None."""
        worksheet = self._book[sheet]
        worksheet.reset_dimensions()  # the size a file states is often wrong, and would pad every row to it
        rows = worksheet.iter_rows(values_only=True)
        looked_at = 0
        for number in range(1, MAX_ROWS_LOOKED_AT):
            with _foreign_faults():
                row = next(rows, None)
            if row is None:
                return
            looked_at += len(row)
            if looked_at > MAX_CELLS_LOOKED_AT:
                break
            yield number, _checked(row, number)
        raise Unreadable(_STRETCHED)


def _checked(row: tuple[Any, ...], number: int) -> list[Cell]:
    if len(row) > MAX_COLUMNS and all(cell is None for cell in row[MAX_COLUMNS:]):
        row = row[:MAX_COLUMNS]
    for cell in row:
        if isinstance(cell, str) and len(cell) > MAX_CELL_CHARACTERS:
            raise Unreadable(
                f"In row {number} one cell holds more than {MAX_CELL_CHARACTERS:,} characters. Shorten it."
            )
    return list(row)


@contextmanager
def opened(data: bytes) -> Iterator[Workbook]:
    """The workbook, open for as long as the block lasts. Raises Unreadable when it cannot be opened."""
    import openpyxl  # with what it brings along 28 MB, which a server that imports nothing need not hold

    check_zip(data)
    with _ONE_AT_A_TIME, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # openpyxl warns of styles and extensions that no import needs
        with _foreign_faults():
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        with closing(book):
            yield Workbook(book)


@contextmanager
def _foreign_faults() -> Iterator[None]:
    """The parser raises anything from KeyError to SyntaxError about a broken part: all of it is the file's fault."""
    try:
        yield
    except Exception as error:
        raise Unreadable(_DAMAGED) from error
