"""What keepers write for the sex of an animal or of a group. English and German, trade short forms included."""

import re
from dataclasses import dataclass

from collection.spreadsheets.cells import Misread, listed, says_nothing, shortened
from collection.spreadsheets.counts import read_count
from collection.stages import Stage

_MALE = listed("m|male|males|männlich|maennlich|männchen|maennchen|bock|♂")
_FEMALE = listed("f|w|female|females|fem|weiblich|weibchen|weib|♀")
_UNSEXED = listed("u|us|uns|unsexed|unsexd|un-sexed|not sexed|undetermined|unbestimmt|n.n.|nn|n/s|ns|tbc|juv|nb|mixed")
_PAIR = listed("pair|paar|m+f|m/w|m/f|1 pair")
_DOUBT = re.compile(
    r"\?+|\(\?\)|\b(?:poss(?:ible|ibly)?|prob(?:able|ably)?|sus(?:p|pect|pected)?|likely|maybe|presumed|assumed"
    r"|vermutlich|verm|wahrscheinlich|evtl|wohl|ventral(?:ly)?|unconfirmed)\b\.?",
    re.IGNORECASE,
)
_CERTAIN = re.compile(
    r"\b(?:confirmed|conf|sexed|sicher|bestätigt|exuvia|exuvie|molt(?:ed)?|moult(?:ed)?|by molt|100 ?%)\b\.?",
    re.IGNORECASE,
)
_RATIO = re.compile(r"(\d+)\s?[.,/]\s?(\d+)(?:\s?[.,/]\s?(\d+))?")
_SHORT_FORMS = {
    **dict.fromkeys(["mm", "am"], ("m", Stage.MATURE_MALE)),
    **dict.fromkeys(["mf", "af"], ("f", Stage.ADULT)),
    **dict.fromkeys(["sam", "sm", "pm"], ("m", Stage.SUBADULT)),
    **dict.fromkeys(["saf", "sf"], ("f", Stage.SUBADULT)),
}
_AGE_WORDS = {
    **dict.fromkeys(listed("mature|adult|adulte|adulter|adultes|ad|ad."), Stage.ADULT),
    **dict.fromkeys(listed("subadult|sub|sub.|subad|semiadult|penultimate|penult|pen"), Stage.SUBADULT),
    **dict.fromkeys(listed("juvenile|juv|juv.|juvenil"), Stage.GROWING),
}


@dataclass(frozen=True)
class SexReading:
    """How many of each sex the cell names, how sure it sounds, and the stage that a word such as MM implies.

    `kind` is "sex" for a word, "count" for numbers such as 0.1 or 1.2.5, "unknown" when it says nothing. `exact` is
    False for "culture ca. 200", `together` is True when the cell says that they live together.
    """

    kind: str
    males: int = 0
    females: int = 0
    unsexed: int = 0
    confident: bool = False
    stage: Stage | None = None
    exact: bool = True
    together: bool = False

    @property
    def total(self) -> int:
        """Animals named; 0 when the cell names no number and no sex."""
        return self.males + self.females + self.unsexed

    @property
    def finding(self) -> str:
        """Return "female" or "male" when every animal named has that sex, else ""."""
        if self.unsexed or bool(self.males) == bool(self.females):
            return ""
        return "male" if self.males else "female"


NOTHING = SexReading("unknown")


def read_sex(text: str) -> SexReading:
    """The sex a cell names: "0.1", "1.2.5", "F", "f?", "female", "w", "♀", "MM", "unsexed", "", "communal x12".

    "1" is what a spreadsheet makes of 1.0 and is read so, without confidence. Raises Misread for anything else.
    """
    doubtful = bool(_DOUBT.search(text))
    core = _CERTAIN.sub(" ", _DOUBT.sub(" ", text)).replace("(", " ").replace(")", " ")
    word = " ".join(core.split()).strip(" ,;:-").casefold()
    if says_nothing(word) or word in _UNSEXED:
        return NOTHING
    if word in _PAIR:
        return SexReading("count", males=1, females=1, confident=not doubtful)
    return _ratio(word, doubtful) or sexed_word(word, doubtful) or _as_group(text)


def _ratio(word: str, doubtful: bool) -> SexReading | None:
    if word in {"0", "1"}:
        return SexReading("count", males=1) if word == "1" else NOTHING
    match = _RATIO.fullmatch(word)
    if not match:
        return None
    males, females, unsexed = (int(group or 0) for group in match.groups())
    if males + females + unsexed == 0:
        return NOTHING
    return SexReading("count", males, females, unsexed, confident=not doubtful and males + females > 0)


def sexed_word(word: str, doubtful: bool = False) -> SexReading | None:
    """The sex in a lower-case word or short form such as "mature male" or "mf"; None when there is none in it."""
    sex, stage = _SHORT_FORMS.get(word, ("", None))
    if not sex:
        rest, stage = _without_age(word)
        sex = "m" if rest in _MALE else "f" if rest in _FEMALE else ""
    if not sex:
        return None
    if sex == "m" and stage is Stage.ADULT:
        stage = Stage.MATURE_MALE
    return SexReading("sex", males=int(sex == "m"), females=int(sex == "f"), confident=not doubtful, stage=stage)


def _without_age(word: str) -> tuple[str, Stage | None]:
    """("mature male") → ("male", ADULT); the age may stand behind as well."""
    first, _, rest = word.partition(" ")
    if rest and first in _AGE_WORDS:
        return rest, _AGE_WORDS[first]
    start, _, last = word.rpartition(" ")
    if start and last in _AGE_WORDS:
        return start, _AGE_WORDS[last]
    return word, None


def _as_group(text: str) -> SexReading:
    try:
        counted = read_count(text)
    except Misread:
        counted = None
    if counted is None:
        raise Misread(f"“{shortened(text)}” is not a sex. Write F, M, 0.1, 1.0, or leave it empty.")
    return SexReading("count", unsexed=counted.number, exact=counted.exact, together=counted.group)
