"""The time of day in a cell, beside its date: 14:05, 2:05:30 PM, T14:05:00+01:00, or a day number’s fraction."""

import datetime as dt
import re
from collections.abc import Iterable

from collection.spreadsheets.cells import Cell, Misread, shortened, text_of
from collection.spreadsheets.datecells import serial_of

_CLOCK = re.compile(
    r"(?:^|[ T,]+)(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?(?: ?([ap])\.?m\.?)?(Z| ?[+-]\d{2}:?\d{2})?$", re.IGNORECASE
)
Clock = tuple[dt.time, dt.timedelta | None]


def read_clock(cell: Cell) -> Clock | None:
    """The time of day and its offset from UTC, None where it says none of either. Raises Misread for 25:70."""
    if isinstance(cell, dt.datetime):
        return cell.time().replace(microsecond=0, tzinfo=None), cell.utcoffset()
    if isinstance(cell, dt.time):
        return cell.replace(microsecond=0, tzinfo=None), None
    if isinstance(cell, dt.date):
        return None
    text = cell.strip() if isinstance(cell, str) else text_of(cell)
    if serial_of(cell) is not None:
        return _of_fraction(float(text.replace(",", ".")) % 1), None
    found = _CLOCK.search(text)
    if found is None:
        return None
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    if found[4]:
        hour = hour % 12 + (12 if found[4].casefold() == "p" else 0)
    try:
        return dt.time(hour, minute, second), _offset(found[5])
    except ValueError:
        raise Misread(f"“{shortened(text)}” has no time of the clock.") from None


def _of_fraction(share: float) -> dt.time:
    seconds = min(round(share * 86_400), 86_399)
    return dt.time(seconds // 3600, seconds % 3600 // 60, seconds % 60)


def _offset(text: str | None) -> dt.timedelta | None:
    if not text:
        return None
    if text.strip().upper() == "Z":
        return dt.timedelta(0)
    digits = re.sub(r"\D", "", text)
    offset = dt.timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    return -offset if "-" in text else offset


def all_say_their_zone(cells: Iterable[Cell]) -> bool:
    """Whether every cell with a time says its offset from UTC too, so that nobody need be asked."""
    for cell in cells:
        try:
            clock = read_clock(cell)
        except Misread:
            continue
        if clock is not None and clock[1] is None:
            return False
    return True
