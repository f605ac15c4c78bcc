"""How many animals a cell names, and yes or no. English and German."""

import re
from dataclasses import dataclass

from collection.spreadsheets.cells import Misread, listed, says_nothing, shortened

_TOGETHER = "communal|community|group|culture|colony|batch|gruppe|kolonie|zuchtgruppe|kultur|zucht|kommune|sac|lot"
_PIECES = "stk|stück|stueck|pcs|pc|pieces|animals|tiere|spiderlings|slings|specimens|ex|x|×"
_COUNT = re.compile(
    rf"(?P<word>(?:{_TOGETHER})s?)?[\s:,]*(?:of|von|mit|à)?\s*(?:x|×|\*)?\s*"
    r"(?P<about>~|≈|ca\.?|about|approx\.?|circa|etwa|>)?\s*"
    r"(?P<number>\d{1,6})(?:\s*(?:-|–|to|bis)\s*(?P<upper>\d{1,6}))?\s*(?P<plus>\+|\?)?\s*"
    rf"(?:{_PIECES})?\.?(?:\s*(?:in )?(?P<after>(?:{_TOGETHER})s?))?",
    re.IGNORECASE,
)
_YES = listed("yes|y|x|✓|✔|ja|j|true|1|kept|wahr|ok|taken|behalten|vorhanden")
_NO = listed("no|n|nein|false|0|falsch|not kept|lost|eaten|weg|gone|discarded")


@dataclass(frozen=True)
class CountReading:
    """A head count; `exact` is False for "ca. 50", `group` is True when the text says that they live together."""

    number: int
    exact: bool = True
    group: bool = False


def read_count(text: str) -> CountReading | None:
    """The head count in "communal x12", "x 5", "group of 8", "12 Stk", "ca. 50", "10-15"; None when it says nothing.

    A range gives its lower end and is not exact. Raises Misread for anything else.
    """
    core = " ".join(text.replace("(", " ").replace(")", " ").split())
    if says_nothing(core):
        return None
    if core.casefold() in {"pair", "paar", "1.1"}:
        return CountReading(2, group=True)
    if core.casefold() in {"single", "einzeln", "one"}:
        return CountReading(1)
    match = _COUNT.fullmatch(core)
    if not match:
        raise Misread(f"“{shortened(text)}” is not a number of animals. Write 12, ca. 50 or group of 8.")
    together = bool(match["word"] or match["after"])
    return CountReading(int(match["number"]), not (match["about"] or match["upper"] or match["plus"]), together)


def read_yes_no(text: str) -> bool | None:
    """True, False, or None when the cell says nothing. Raises Misread for any other word."""
    word = text.strip().casefold()
    if word in _YES:
        return True
    if word in _NO:
        return False
    if says_nothing(word):
        return None
    raise Misread(f"“{shortened(text)}” is neither yes nor no.")
