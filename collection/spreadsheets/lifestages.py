"""What keepers write for the stage of an animal: a word of age, or an instar with the way it is counted."""

import re
from dataclasses import dataclass

from collection.spreadsheets.cells import Misread, listed, says_nothing, shortened
from collection.spreadsheets.sexes import sexed_word
from collection.stages import Stage

_STAGES = {
    **dict.fromkeys(listed("sling|slings|spiderling|spiderlings|baby|spinnling|young|jungtier|nestling"), Stage.YOUNG),
    **dict.fromkeys(listed("nymph|nymphe|larva|larve|manca|hatchling"), Stage.YOUNG),
    **dict.fromkeys(listed("juvenile|juveniles|juv|juv.|juvenil|juvi|growing"), Stage.GROWING),
    **dict.fromkeys(listed("subadult|sub-adult|sub adult|subad|subad.|sub|sa|semiadult"), Stage.SUBADULT),
    **dict.fromkeys(listed("penultimate|penult"), Stage.SUBADULT),
    **dict.fromkeys(listed("adult|adults|adult.|ad|ad.|mature|adulte|adultes|rh|reif|imago"), Stage.ADULT),
    **dict.fromkeys(listed("culture|colony|kultur"), Stage.CULTURE),
}
_INSTARS = (
    (re.compile(r"i\s?(\d{1,2})|(\d{1,2})\s?i|(\d{1,2})(?:st|nd|rd|th)? instar|instar (\d{1,2})"), "i"),
    (re.compile(r"l\s?(\d{1,2})|fh\s?(\d{1,2})|(\d{1,2})\.?\s?(?:fh|haut|fresshaut)"), "L"),
    (re.compile(r"n\s?(\d{1,2})|larv[ae]\s?(\d{1,2})"), "N"),
    (re.compile(r"(\d{1,2})"), ""),
)


@dataclass(frozen=True)
class StageReading:
    """A stage, or an instar number with how it is counted.

    `convention`: "i" (2i feeds first), "L" (L1 feeds first; FH is the same), "N" (before feeding), "" (a bare number).
    """

    stage: Stage | None = None
    instar: int | None = None
    convention: str = ""
    sex: str = ""


def read_stage(text: str) -> StageReading | None:
    """The stage in "sling", "juv", "subadult", "MM", "L3", "FH2", "2i", "3rd instar", "5"; None when it says nothing.

    Raises Misread for anything else.
    """
    word = " ".join(text.split()).strip(" ?()").casefold()
    if says_nothing(word):
        return None
    if word in _STAGES:
        return StageReading(_STAGES[word])
    for pattern, convention in _INSTARS:
        match = pattern.fullmatch(word)
        if match:
            return StageReading(instar=int(match[match.lastindex or 1]), convention=convention)
    sexed = sexed_word(word)
    if sexed and sexed.stage:
        return StageReading(sexed.stage, sex=sexed.finding)
    raise Misread(
        f"“{shortened(text)}” is not a stage. Write sling, juvenile, subadult, adult, or an instar as 3i or L2."
    )
