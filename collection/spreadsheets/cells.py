"""What a cell may hold, and the two ways a reading fails: the whole file (Unreadable) or one cell (Misread)."""

import datetime as dt
import re
from decimal import Decimal

# CSV gives text only; a workbook also gives numbers, yes/no and real dates.
Cell = str | int | float | bool | dt.date | dt.datetime | dt.time | None

_INVISIBLE = re.compile("[\u200b\u200c\u200d\u2060\ufeff\u00ad]")
_SPACES = re.compile(r"\s+")
_BROKEN_FORMULAS = frozenset(["#N/A", "#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#####"])


def listed(words: str) -> frozenset[str]:
    """The words of a list written with bars between them."""
    return frozenset(words.split("|"))


_EMPTY_WORDS = listed(
    "|-|--|–|—|?|??|.|/|n/a|na|n.a.|none|nil|null|unknown|not known|tbd|never"
    "|k.a.|k. a.|ka|unbekannt|unbek.|unbek|nie|noch nie"
)


class Unreadable(ValueError):
    """The file cannot be read as a table; `sentence` says what is wrong and what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class Misread(ValueError):
    """One cell cannot be read as what its column should hold; `sentence` names the cell's text and the remedy."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def text_of(cell: Cell) -> str:
    """The cell as a keeper would read it.

    Whole numbers without ".0", dates as ISO, spaces collapsed, invisible signs gone.
    Raises Misread for a formula that failed in the spreadsheet (such as #REF!).
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, dt.datetime):
        return cell.date().isoformat()
    text = _SPACES.sub(" ", _INVISIBLE.sub("", str(cell))).strip()
    if text in _BROKEN_FORMULAS:
        raise Misread(f"“{text}” is a formula that failed in the spreadsheet; put the value in its place.")
    return text


def is_blank(cell: Cell) -> bool:
    """True for nothing at all or for spaces only."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def says_nothing(text: str) -> bool:
    """True for an empty cell and for the words keepers write instead of leaving it empty ("?", "n/a", "unknown")."""
    return text.casefold() in _EMPTY_WORDS


def shortened(text: str, length: int = 40) -> str:
    """The text cut to `length` characters with an ellipsis, for use inside a sentence."""
    return text if len(text) <= length else text[: length - 1].rstrip() + "…"


_FORMULA_START = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_PLAIN_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?")


def safe_cell(value: object) -> object:
    """The value as it may be written to an exported sheet: text that would run as a formula gets an apostrophe.

    Plain numbers ("-5", "-1,5") stay as they are; anything that is not text passes unchanged.
    Source of the character list: OWASP, "CSV Injection", owasp.org/www-community/attacks/CSV_Injection.
    """
    if not isinstance(value, str):
        return value
    if value.lstrip(" ").startswith(_FORMULA_START) and not _PLAIN_NUMBER.fullmatch(value.strip(" ")):
        return "'" + value
    return value


def unguarded(text: str) -> str:
    """What stood in a cell before `safe_cell` put its apostrophe there, so that export and import come round."""
    return text[1:] if text[:1] == "'" and text[1:].lstrip(" ").startswith(_FORMULA_START) else text


def plain(number: Decimal) -> str:
    """A decimal without exponent and without trailing zeros: 45.50 → "45.5", 1E+2 → "100"."""
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
