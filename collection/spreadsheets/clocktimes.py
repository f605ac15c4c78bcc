"""The time of day in a cell, beside its date: 14:05, 2:05:30 PM, T14:05:00+01:00, or a day number’s fraction."""

import datetime as dt
import re
from collections.abc import Iterable

from collection.spreadsheets.cells import Cell, Misread, is_blank, shortened, text_of
from collection.spreadsheets.datecells import serial_of, without_clock

_CLOCK = re.compile(
    r"(?:^|[ T,]+)(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?(?: ?([ap])\.?m\.?)?(Z| ?[+-]\d{2}:?\d{2}| ?(?:UTC|GMT))?$",
    re.IGNORECASE,
)
_ALONE = re.compile(
    r"(\d{1,2})[:.h](\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*(uhr|[ap]\.?m\.?)?( ?(?:Z|UTC|GMT|[+-]\d{2}:?\d{2}))?",
    re.IGNORECASE,
)
FARTHEST_ZONE = 14  # hours from UTC, of the first islands that see a day
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
    if text.strip().upper() in {"Z", "UTC", "GMT"}:
        return dt.timedelta(0)
    digits = re.sub(r"\D", "", text)
    hours, minutes = int(digits[:2]), int(digits[2:])
    if hours > FARTHEST_ZONE or minutes > 59:
        raise ValueError(text)
    offset = dt.timedelta(hours=hours, minutes=minutes)
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


def is_clock(cell: Cell) -> bool:
    """Whether a cell holds a time of day and no date, as in the second of two columns: 14:05, 2:05 PM, 14.05 Uhr."""
    if isinstance(cell, dt.time):
        return True
    if isinstance(cell, float):
        return 0 <= cell < 1
    return isinstance(cell, str) and bool(_ALONE.fullmatch(cell.strip()))


def joined(day: Cell, clock: Cell) -> Cell:
    """One cell out of a date and the time of day that stands in a column beside it; empty where there is no date.

    A time that the date’s own cell carries (midnight, most often) gives way to that of the other column.
    """
    if is_blank(day):
        return ""
    if is_blank(clock):
        return day
    if isinstance(day, dt.datetime):
        day = day.date()
    time = clock if isinstance(clock, dt.time) else clock.time() if isinstance(clock, dt.datetime) else None
    if time is None and isinstance(clock, float) and 0 <= clock < 1:
        time = _of_fraction(clock)
    if time is not None and isinstance(day, dt.date):
        return dt.datetime.combine(day, time)
    return f"{without_clock(text_of(day))} {time or _colons(str(clock).strip())}"


def _colons(text: str) -> str:
    """A time of day as the reader of instants knows it: 14.05 Uhr → 14:05."""
    found = _ALONE.fullmatch(text)
    if found is None:
        return text
    half = f" {found[4]}" if found[4] and found[4].casefold() != "uhr" else ""
    return ":".join(part for part in found.groups()[:3] if part) + half + (found[5] or "")
