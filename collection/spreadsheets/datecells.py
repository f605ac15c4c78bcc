"""One cell as a date, given which way round its numbers stand. All that needs no decision by column is read here too.

Serial days: ECMA-376-1:2016, 18.17.4.1 (1900 date base: day 1 = 1900-01-01 with a sham 29 February 1900, hence day 0
= 1899-12-30 for every later date; 1904 date base: day 0 = 1904-01-01). Month abbreviations: English and German.
"""

import calendar
import datetime as dt
import re
from enum import StrEnum

from collection.dates import FuzzyDate
from collection.spreadsheets.cells import Cell, Misread, says_nothing, shortened, text_of

EPOCH_1900 = dt.date(1899, 12, 30)
EPOCH_1904 = dt.date(1904, 1, 1)
FIRST_SERIAL, LAST_SERIAL = 20_000, 60_000  # 1954-10-03 to 2064-04-08: nobody keeps animals of other days
FIRST_YEAR, LAST_YEAR = 1900, 2100  # another year is a slip of the fingers


class Order(StrEnum):
    """Which number stands where in a date such as 03/04/2026."""

    DMY = "dmy"
    MDY = "mdy"
    YMD = "ymd"


ORDER_LABELS = {Order.DMY: "day, month, year", Order.MDY: "month, day, year", Order.YMD: "year, month, day"}

_MONTHS = {
    name: month
    for month, names in enumerate(
        (
            "jan january januar jän jänner", "feb february februar", "mar march mär märz mrz maerz", "apr april",
            "may mai", "jun june juni", "jul july juli", "aug august", "sep sept september", "oct october okt oktober",
            "nov november", "dec december dez dezember",
        ),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
_TIME = re.compile(
    r"[ T,]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?[ap]\.?m\.?)?(?:Z| ?[+-]\d{2}:?\d{2}| ?(?:UTC|GMT))?$", re.IGNORECASE
)
_ABOUT = re.compile(
    r"^(?:~|≈|c\.|ca\.?|circa|about|approx\.?|around|etwa|ungefähr|um|est\.?)\s*|\s*(?:\?|\(\?\)|ca\.?|approx\.?)$",
    re.IGNORECASE,
)
_WEEKDAY = re.compile(r"^(?:mo|tu|we|th|fr|sa|su|di|mi|do|so)[a-zä]*[.,]*\s+(?=\S)", re.IGNORECASE)
_TRIPLE = re.compile(r"(\d{1,2})(\s?[./-]\s?)(\d{1,2})\2(\d{4}|\d{2})")
_ISO = re.compile(r"(\d{4})([-./])(\d{1,2})(?:\2(\d{1,2}))?")
_INTERVAL = re.compile(r"\d{4}-\d\d-\d\d/\d{4}-\d\d-\d\d")
_BASIC = re.compile(r"(19|20)(\d{2})(\d{2})(\d{2})")
_MONTH_YEAR = re.compile(r"(\d{1,2})[./-](\d{4})")
_YEARS = re.compile(r"((?:19|20)\d{2})(?:\s?[-–/]\s?((?:19|20)\d{2}))?")
_WORDS = re.compile(r"[\s.,/-]+")
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")


def triple_of(cell: Cell) -> tuple[str, int, int, str] | None:
    """(separator, first number, second number, third as written) when the order of the date is to be decided."""
    if not isinstance(cell, str):
        return None
    match = _TRIPLE.fullmatch(_core(text_of(cell)))
    if not match:
        return None
    return match[2].strip(), int(match[1]), int(match[3]), match[4]


def serial_of(cell: Cell) -> int | None:
    """The whole days when the cell is a spreadsheet's day number, else None."""
    if isinstance(cell, bool) or not isinstance(cell, int | float | str):
        return None
    text = text_of(cell)
    if not _SERIAL.fullmatch(text):
        return None
    days = int(float(text.replace(",", ".")))
    return days if FIRST_SERIAL <= days <= LAST_SERIAL else None


def read_date(cell: Cell, orders: dict[str, Order], epoch: dt.date, today: dt.date) -> FuzzyDate | None:
    """The date in the cell; None when it says nothing. Two-digit years never lie more than a year after `today`.

    Raises Misread with what stands there when it is no date, or no date in this order.
    """
    if isinstance(cell, dt.date):  # a moment is one too
        return FuzzyDate.on(_day(cell.year, cell.month, cell.day, f"{cell:%Y-%m-%d}"))
    text = text_of(cell)
    if says_nothing(text):
        return None
    serial = serial_of(cell)
    if serial is not None:
        return FuzzyDate.on(epoch + dt.timedelta(days=serial))
    core = _core(text)
    triple = triple_of(core)
    if triple:
        return FuzzyDate.on(day_of(triple, orders.get(triple[0], Order.DMY), today))
    read = _iso(core) or _interval(core) or _reduced(core) or _named(core, today)
    if read is None:
        raise Misread(f"“{shortened(text)}” is not a date. Write it as 2026-03-14, 2026-03 or 2026.")
    return read


def day_of(triple: tuple[str, int, int, str], order: Order, today: dt.date) -> dt.date:
    """The day that three numbers mean in this order. Raises Misread when there is no such day."""
    separator, first, second, third = triple
    written = f"{first:02}{separator}{second:02}{separator}{third}"
    if order is Order.YMD:
        if len(third) == 4:
            raise Misread(f"“{written}” cannot be read as {ORDER_LABELS[order]}.")
        year, month, day = century(first, today), second, int(third)
    else:
        year = int(third) if len(third) == 4 else century(int(third), today)
        month, day = (second, first) if order is Order.DMY else (first, second)
    return _day(year, month, day, written, f" as {ORDER_LABELS[order]}")


def century(year: int, today: dt.date) -> int:
    """The full year meant by two digits: the latest that is not after next year."""
    full = today.year - today.year % 100 + year
    return full if full <= today.year + 1 else full - 100


def without_clock(text: str) -> str:
    """The text without a time of day after its date."""
    return _TIME.sub("", text)


def _core(text: str) -> str:
    """The text without a time of day, a weekday and words such as "about" around it."""
    return _ABOUT.sub("", _WEEKDAY.sub("", _TIME.sub("", text))).strip()


def _day(year: int, month: int, day: int, written: str, how: str = "") -> dt.date:
    try:
        if not FIRST_YEAR <= year <= LAST_YEAR:
            raise ValueError(year)
        return dt.date(year, month, day)
    except ValueError:
        raise Misread(f"“{written}” is no day of the calendar{how}.") from None


def _month(year: int, month: int, written: str) -> FuzzyDate:
    if not 1 <= month <= 12 or not FIRST_YEAR <= year <= LAST_YEAR:
        raise Misread(f"“{written}” is no month of the calendar.")
    return FuzzyDate(dt.date(year, month, 1), dt.date(year, month, calendar.monthrange(year, month)[1]))


def _iso(text: str) -> FuzzyDate | None:
    basic = _BASIC.fullmatch(text)
    if basic:
        return FuzzyDate.on(_day(int(basic[1] + basic[2]), int(basic[3]), int(basic[4]), text))
    match = _ISO.fullmatch(text)
    if not match:
        return None
    if match[4]:
        return FuzzyDate.on(_day(int(match[1]), int(match[3]), int(match[4]), text))
    return _month(int(match[1]), int(match[3]), text)


def _interval(text: str) -> FuzzyDate | None:
    """Two days with a slash between them (ISO 8601-1:2019, 5.5.2), as our own lists write what is known roughly."""
    match = _INTERVAL.fullmatch(text)
    if not match:
        return None
    try:
        read = FuzzyDate.parse(text)
    except ValueError as problem:
        raise Misread(str(problem)) from None
    if not FIRST_YEAR <= read.earliest.year <= read.latest.year <= LAST_YEAR:
        raise Misread(f"“{text}” reaches beyond the years 1900 to 2100. Check them.")
    return read


def _reduced(text: str) -> FuzzyDate | None:
    month_year = _MONTH_YEAR.fullmatch(text)
    if month_year:
        return _month(int(month_year[2]), int(month_year[1]), text)
    years = _YEARS.fullmatch(text)
    if not years:
        return None
    first, last = int(years[1]), int(years[2] or years[1])
    if last < first:
        raise Misread(f"“{text}” ends before it begins.")
    return FuzzyDate(dt.date(first, 1, 1), dt.date(last, 12, 31))


def _named(text: str, today: dt.date) -> FuzzyDate | None:
    """Dates with the month as a word: "3 Oct 2026", "3. Oktober 2026", "Oct 3, 2026", "Oct 2026", "Okt-26"."""
    parts = [part for part in _WORDS.split(text.casefold()) if part]
    months = [(index, _MONTHS[part]) for index, part in enumerate(parts) if part in _MONTHS]
    numbers = [re.sub(r"(?<=\d)(?:st|nd|rd|th)$", "", part) for part in parts if part not in _MONTHS]
    if len(months) != 1 or not all(re.fullmatch(r"\d{1,2}|\d{4}", number) for number in numbers):
        return None
    place, month = months[0]
    if len(numbers) == 1:
        if place == 1 and len(numbers[0]) < 4:
            raise Misread(f"“{text}” has no year. Write it as 2026-03-14.")
        return _month(_year(numbers[0], today), month, text)
    if len(numbers) != 2:
        return None
    day, year = (numbers[1], numbers[0]) if len(numbers[0]) == 4 else (numbers[0], numbers[1])
    return FuzzyDate.on(_day(_year(year, today), month, int(day), text))


def _year(digits: str, today: dt.date) -> int:
    return int(digits) if len(digits) == 4 else century(int(digits), today)
