"""Text files: which encoding, which delimiter, which rows.

Nothing is settled in silence: an encoding that was guessed is named in the notes of the table.
"""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from collection.spreadsheets.cells import Unreadable
from collection.spreadsheets.limits import MAX_CELL_CHARACTERS

DELIMITERS = ";\t,|"
_SAMPLE_LINES = 60
_SEP_LINE = re.compile(r"\s*\"?sep=(.)\"?\s*\r?(?:\n|$)", re.IGNORECASE)
# A text file holds no sign below 0x20 but tab, line feed, form feed, carriage return and the end mark of old systems.
_CONTROLS = re.compile(rb"[\x00-\x08\x0b\x0e-\x19\x1b-\x1f]")


_BYTE_ORDER_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig", "UTF-8"),
    (b"\xff\xfe", "utf-16", "UTF-16"),
    (b"\xfe\xff", "utf-16", "UTF-16"),
)
_NO_TEXT = (
    "This file is not a table: it holds signs that no text has. Save the sheet as CSV or XLSX and bring that file."
)


@dataclass(frozen=True)
class Text:
    """A decoded file; `guess` is True when nothing in the file proves the encoding."""

    text: str
    encoding: str
    guess: bool = False


def decode(data: bytes) -> Text:
    """The bytes as text: by byte order mark, else strict UTF-8, else Windows-1252 as a guess.

    Raises Unreadable when the bytes are no text at all.
    """
    for mark, codec, name in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return _decode_strictly(data, codec, name)
    codec = _unmarked_utf16(data)
    if codec:
        return _decode_strictly(data, codec, "UTF-16")
    if _CONTROLS.search(data):
        raise Unreadable(_NO_TEXT)
    try:
        return Text(data.decode("utf-8"), "UTF-8")
    except UnicodeDecodeError:
        return Text(data.decode("cp1252", errors="replace"), "Windows-1252", guess=True)


def _unmarked_utf16(data: bytes) -> str:
    """The codec of UTF-16 text without its mark: every other byte of digits and Latin letters is zero."""
    start = data[:400]
    if len(start) < 8 or len(data) % 2:
        return ""
    even, odd = start[::2].count(0), start[1::2].count(0)
    return (
        "utf-16-le"
        if odd > 4 * even and odd > len(start) / 3
        else ("utf-16-be" if even > 4 * odd and even > len(start) / 3 else "")
    )


def _decode_strictly(data: bytes, codec: str, name: str) -> Text:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError:
        raise Unreadable(f"This file begins as {name} text but does not go on so. Save it again.") from None
    if "\x00" in text:
        raise Unreadable(_NO_TEXT)
    return Text(text, name)


def delimiter_of(text: str) -> tuple[str, str]:
    """The delimiter, and the text without a leading "sep=" line: the most consistent of ; tab , | at the top."""
    named = _SEP_LINE.match(text)
    if named:
        return named.group(1), text[named.end() :]
    scores = {mark: _consistency(text, mark) for mark in DELIMITERS}
    best = max(DELIMITERS, key=scores.__getitem__)
    return (best if scores[best] > 0 else ","), text


def _consistency(text: str, mark: str) -> float:
    """Share of sampled rows with the commonest number of this mark, a little more for more columns; 0 for none."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    counts: Counter[int] = Counter()
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                counts[len(row) - 1] += 1
            if sum(counts.values()) >= _SAMPLE_LINES:
                break
    except csv.Error:
        pass  # a quotation mark left open under this mark; what was counted so far decides
    filled = Counter({number: rows for number, rows in counts.items() if number > 0})
    if not filled:
        return 0.0
    number, rows = filled.most_common(1)[0]
    return rows / sum(counts.values()) * (1 + min(number, 30) * 0.01)


def records(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Each row with its number as a spreadsheet counts it, from 1. Raises Unreadable for a cell without an end."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    number = 0
    while True:
        number += 1
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise Unreadable(_endless(number)) from None
        if any(len(cell) > MAX_CELL_CHARACTERS for cell in row):
            raise Unreadable(_endless(number))
        yield number, row


def _endless(number: int) -> str:
    return (
        f"In row {number} one cell holds more than {MAX_CELL_CHARACTERS:,} characters. "
        'Most often a quotation mark (") was opened there and never closed.'
    )
