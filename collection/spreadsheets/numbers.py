"""Numbers whose decimal mark is decided from the whole column, and sizes with their unit, in millimetres.

1 inch = 25.4 mm exactly (international yard and pound agreement, 1959).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from collection.spreadsheets.cells import Cell, Misread, is_blank, plain, says_nothing, shortened, text_of

_NUMBER = r"\d[\d.,' \u00a0\u202f’]*\d|\d"
_TOKEN = re.compile(_NUMBER)
_GROUPING = str.maketrans("", "", "' \u00a0\u202f’")
_DECIMAL = {
    ",": re.compile(r"\d+,\d{1,2}|\d+,\d{4,}|0+,\d+|\d{1,3}(?:\.\d{3})+,\d+|\d{4,},\d+"),
    ".": re.compile(r"\d+\.\d{1,2}|\d+\.\d{4,}|0+\.\d+|\d{1,3}(?:,\d{3})+\.\d+|\d{4,}\.\d+"),
}
_ONE_GROUP = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")  # 1.234: a thousand or a bit more than one, by its column only
_THOUSANDS = re.compile(r"\d{1,3}(?:\.\d{3}){2,}|\d{1,3}(?:,\d{3}){2,}")
_ABOUT = re.compile(
    r"^(?:~|≈|c\.|ca\.?|circa|about|approx\.?|around|etwa|<|>|≤|≥)\s*|\s*(?:\+|\?|ca\.?|approx\.?)$", re.IGNORECASE
)
_MONEY = re.compile(r"€|\$|£|\b(?:eur|euro|usd|gbp|chf|sfr|fr)\b\.?|,-+$|\.-+$", re.IGNORECASE)


@dataclass(frozen=True)
class NumberFormat:
    """How a column's numbers are written; `decimal` matters only for a number that reads two ways, such as 1.234."""

    decimal: str = "."

    def read(self, cell: Cell) -> Decimal | None:
        """The number in the cell; None when it says nothing. Raises Misread."""
        if isinstance(cell, int | float) and not isinstance(cell, bool):
            return Decimal(str(cell))
        text = text_of(cell)
        if says_nothing(text):
            return None
        core = _ABOUT.sub("", _MONEY.sub("", text).strip())
        if not re.fullmatch(rf"-?(?:{_NUMBER})", core):
            raise Misread(f"“{shortened(text)}” is not a number.")
        number = self.number(core.lstrip("-"))
        return -number if core.startswith("-") else number

    def number(self, token: str) -> Decimal:
        """The value of digits with their marks, such as 1.234,5. Raises Misread."""
        digits = token.translate(_GROUPING)
        if _THOUSANDS.fullmatch(digits):
            return Decimal(digits.replace(".", "").replace(",", ""))
        if _ONE_GROUP.fullmatch(digits):
            return Decimal(digits.replace(self.decimal, "#").replace(".", "").replace(",", "").replace("#", "."))
        for mark, pattern in _DECIMAL.items():
            if pattern.fullmatch(digits):
                other = "." if mark == "," else ","
                return Decimal(digits.replace(other, "").replace(mark, "."))
        if digits.isdigit():
            return Decimal(digits)
        raise Misread(f"“{shortened(token)}” is not a number.")


@dataclass(frozen=True)
class AmbiguousNumbers:
    """Numbers such as 1.234 only: a thousand or one and a bit? `written` is one of them."""

    written: str
    readings: tuple[tuple[str, Decimal], ...]

    def settled(self, decimal: str) -> NumberFormat:
        """The format once the keeper has named the decimal mark."""
        return NumberFormat(decimal)


def decide_numbers(values: Iterable[Cell]) -> NumberFormat | AmbiguousNumbers:
    """Decimal comma or point, from all cells of the column, which may hold units or words beside their numbers.

    Asked only when a number such as 1.234 stands there and no other row tells (or rows tell both ways).
    """
    telling: set[str] = set()
    doubtful = ""
    for value in values:
        if not isinstance(value, str) or is_blank(value):
            continue
        for token in _TOKEN.findall(value):
            digits = token.translate(_GROUPING)
            telling |= {mark for mark, pattern in _DECIMAL.items() if pattern.fullmatch(digits)}
            doubtful = doubtful or (digits if _ONE_GROUP.fullmatch(digits) else "")
    if doubtful and len(telling) != 1:
        readings = tuple((mark, NumberFormat(mark).number(doubtful)) for mark in ",.")
        return AmbiguousNumbers(doubtful, readings)
    return NumberFormat(telling.pop() if len(telling) == 1 else ".")


class Unit(StrEnum):
    """Units of length that keepers write."""

    MM = "mm"
    CM = "cm"
    INCH = "in"


IN_MM = {Unit.MM: Decimal(1), Unit.CM: Decimal(10), Unit.INCH: Decimal("25.4")}
_UNIT_WORDS = {
    **dict.fromkeys(["mm", "millimetre", "millimeter", "millimetres", "millimeters"], Unit.MM),
    **dict.fromkeys(["cm", "centimetre", "centimeter", "centimetres", "centimeters"], Unit.CM),
    **dict.fromkeys(["in", "in.", "inch", "inches", "zoll", '"', "”", "″", "''", "”."], Unit.INCH),
}
_UNIT = r"mm|cm|millimet(?:er|re)s?|centimet(?:er|re)s?|inches|inch|in\.?|zoll|\"|”|″|''"
_SIGNS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_AMOUNT = rf"(?:\d+ )?\d+/\d+|{_NUMBER}"
_SIZE = re.compile(
    rf"({_AMOUNT})\s*({_UNIT})?(?:\s*(?:-|–|to|bis)\s*({_AMOUNT})\s*({_UNIT})?)?(?:\s*(?:dls|ls|bl|kl|cl|leg ?span))?",
    re.IGNORECASE,
)
_MEASURE_FIRST = re.compile(r"^(?:dls|ls|bl|kl|cl)[:\s]+", re.IGNORECASE)
LONGEST_MM = 400  # longer than the span of any spider or centipede, body of any millipede, ever kept


@dataclass(frozen=True)
class SizeReading:
    """A length in mm; `said` is empty, or says what was made of the cell ("the middle of 4–5 cm")."""

    mm: float
    said: str = ""


def unit_of_heading(heading: str) -> Unit | None:
    """The unit a heading names, as in "size (cm)", "Größe in mm", "DLS [inch]"; None when it names none."""
    words = re.findall(r'[a-z]+|"', heading.casefold())
    found = [_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS]
    return found[-1] if found else None


def decide_unit(heading: str, values: Iterable[Cell]) -> Unit | None:
    """The unit of the cells that name none: by the heading, else not needed when every cell names its own (then mm).

    None means that the keeper must be asked.
    """
    named = unit_of_heading(heading)
    if named:
        return named
    texts = [str(value) for value in values if not is_blank(value) and not says_nothing(str(value).strip())]
    return Unit.MM if all(re.search(rf"(?:\d|\s)(?:{_UNIT})(?![a-z])", text, re.IGNORECASE) for text in texts) else None


def read_size(cell: Cell, numbers: NumberFormat, unit: Unit) -> SizeReading | None:
    """A length in mm from "12 mm", "5,5 cm", '3"', "1 1/2 in", "4-5 cm"; `unit` holds for cells that name none.

    None when the cell says nothing. Raises Misread for anything else, and beyond LONGEST_MM.
    """
    text = text_of(cell)
    if isinstance(cell, int | float):  # a workbook's own number has no decimal mark to misunderstand
        return SizeReading(_plausible(Decimal(str(cell)) * IN_MM[unit], text))
    if says_nothing(text):
        return None
    core = _MEASURE_FIRST.sub("", _ABOUT.sub("", text))
    for sign, fraction in _SIGNS.items():
        core = core.replace(sign, fraction)
    match = _SIZE.fullmatch(core.strip())
    if not match:
        raise Misread(f"“{shortened(text)}” is not a size. Write it as 45 mm, 4.5 cm or 1.75 in.")
    first, first_unit, last, last_unit = match.groups()
    chosen = _unit_word(last_unit or first_unit) or unit
    low = _amount(first, numbers) * IN_MM[_unit_word(first_unit) or chosen]
    high = _amount(last, numbers) * IN_MM[chosen] if last else low
    said = f"the middle of {text}" if last else "about" if core != text.strip() and _ABOUT.search(text) else ""
    return SizeReading(_plausible((low + high) / 2, text), said)


def _unit_word(text: str | None) -> Unit | None:
    return _UNIT_WORDS[text.casefold()] if text else None


def _amount(text: str, numbers: NumberFormat) -> Decimal:
    fraction = re.fullmatch(r"(?:(\d+) )?(\d+)/(\d+)", text.strip())
    if not fraction:
        return numbers.number(text)
    if int(fraction[3]) == 0:
        raise Misread(f"“{text}” divides by zero.")
    return Decimal(fraction[1] or 0) + Decimal(fraction[2]) / Decimal(fraction[3])


def _plausible(mm: Decimal, text: str) -> float:
    if mm <= 0:
        raise Misread(f"“{shortened(text)}” is not a size: a size is more than 0.")
    if mm > LONGEST_MM:
        raise Misread(
            f"“{shortened(text)}” would be {plain(mm)} mm; no animal kept here is that long. Is the unit right?"
        )
    return float(round(mm, 2))
