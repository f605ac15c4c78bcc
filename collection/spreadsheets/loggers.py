"""What the files of loggers say beside their values: units, in the heading, a row of their own or each cell, and zones.

Pure. Temperatures are °C unless °F is said; humidities are %.
"""

import datetime as dt
import re
from collections.abc import Sequence

from collection.spreadsheets.cells import Cell, is_blank
from collection.spreadsheets.clocktimes import FARTHEST_ZONE

_CELSIUS = r"°\s?c|deg\.?\s?c|℃|celsius"
_FAHRENHEIT = r"°\s?f|deg\.?\s?f|℉|fahrenheit"
_SHARE = r"%\s?-?(?:r\.?h\.?|r\.?f\.?)?"
_UNIT = re.compile(
    rf"[(\[]?\s*(?:{_CELSIUS}|{_FAHRENHEIT}|{_SHARE}|c|f|k?pa|hpa|v|mv|lux?|ppm)\s*[)\]]?", re.IGNORECASE
)
_PATTERN = re.compile(
    r"[(\[]?(?:[dmytj]{1,4}[./-]){2}[dmytj]{1,4}[)\]]?|[(\[]?h{1,2}:m{1,2}(?::s{1,2})?[)\]]?|utc|gmt|local", re.I
)
_SAYS_FAHRENHEIT = re.compile(rf"{_FAHRENHEIT}|[(\[]\s*f\s*[)\]]|[_ ]f$", re.IGNORECASE)
_AFTER = re.compile(rf"\s*(?:({_CELSIUS}|c)|({_FAHRENHEIT}|f)|{_SHARE})$", re.IGNORECASE)
_ZONE = re.compile(r"\b(?:utc|gmt)\b\s*(?:([+−-])\s*(\d{1,2})(?::?(\d{2}))?)?", re.IGNORECASE)


def says_fahrenheit(text: str) -> bool:
    """Whether a heading says that its column holds °F."""
    return bool(_SAYS_FAHRENHEIT.search(text.strip()))


def without_unit(cell: Cell) -> tuple[Cell, bool | None]:
    """The cell without the unit written after its number; and whether that was °F, None where none was written."""
    if not isinstance(cell, str):
        return cell, None
    found = _AFTER.search(cell.strip())
    if found is None:
        return cell, None
    return cell.strip()[: found.start()], True if found[2] else False if found[1] else None


def zone_of(heading: str) -> dt.timedelta | None:
    """The offset from UTC that a heading names, as in “Date Time, GMT+01:00” or “utc_time”; None for none."""
    found = _ZONE.search(heading.replace("_", " "))
    if found is None or int(found[2] or 0) > FARTHEST_ZONE or int(found[3] or 0) > 59:
        return None
    offset = dt.timedelta(hours=int(found[2] or 0), minutes=int(found[3] or 0))
    return -offset if found[1] in {"-", "−"} else offset


def is_row_of_units(cells: Sequence[Cell]) -> bool:
    """Whether a row under the headings holds nothing but units: °C, %RH, dd.mm.yyyy, hh:mm."""
    texts = [cell.strip() if isinstance(cell, str) else "#" for cell in cells if not is_blank(cell)]
    units = [text for text in texts if _UNIT.fullmatch(text)]
    return bool(units) and all(text in units or _PATTERN.fullmatch(text) for text in texts)


def with_units(headings: Sequence[str], units: Sequence[Cell]) -> list[str]:
    """The headings with the units that stood under them, in brackets; a pattern such as hh:mm is none."""
    said = [str(unit).strip(" ()[]") if not is_blank(unit) else "" for unit in units]
    said = [unit if _UNIT.fullmatch(unit) else "" for unit in said]
    said += [""] * (len(headings) - len(said))
    pairs = zip(headings, said, strict=False)
    return [f"{heading} ({unit})" if unit and heading else heading for heading, unit in pairs]
