"""Groups, lifestyles and life stages: the trade's words, and the stage an animal is in.

Vocabulary: each group's own words (a mantis has nymphs, a beetle a pupa). The thresholds below are common practice
or assumptions, never measurements of a species; the keeper's own dated judgement goes before them.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Self


class Term(StrEnum):
    """A word with a stored value and the label a keeper reads."""

    label: str

    def __new__(cls, value: str, label: str = "") -> Self:
        """Take the label from the value where none is given."""
        term = str.__new__(cls, value)
        term._value_ = value
        term.label = label or value.replace("_", " ")
        return term

    @classmethod
    def choices(cls) -> list[tuple[str, str]]:
        """Return (value, label) of every term, in order, for a form or a column."""
        return [(term.value, term.label) for term in cls]


class Group(Term):
    """The big groups of kept invertebrates; sex methods, stages and feeding hang on them."""

    TARANTULA = "tarantula"
    TRUE_SPIDER = "true_spider"
    SCORPION = "scorpion"
    MANTIS = "mantis"
    CENTIPEDE = "centipede"
    MILLIPEDE = "millipede"
    WHIP_SPIDER = "whip_spider", "whip spider or vinegaroon"
    ISOPOD = "isopod"
    ROACH = "roach"
    BEETLE = "beetle"
    STICK_INSECT = "stick_insect"
    OTHER = "other"


class Lifestyle(Term):
    """How an animal lives, which sets its enclosure and its upkeep."""

    TERRESTRIAL = "terrestrial"
    FOSSORIAL = "fossorial"
    ARBOREAL = "arboreal"
    WEB = "web", "web dweller"
    DWARF = "dwarf"
    CULTURE = "culture"
    SOIL = "soil", "larva in soil"


class Stage(Term):
    """Stage in program terms; `stage_label` gives the group's own word."""

    YOUNG = "young"
    GROWING = "growing"
    SUBADULT = "subadult"
    ADULT = "adult"
    MATURE_MALE = "mature_male"
    CULTURE = "culture"
    UNKNOWN = "unknown", "stage not known"


@dataclass(frozen=True)
class StageFinding:
    """A stage and the sentence that says why."""

    stage: Stage
    reason: str


# In the order young, growing, subadult, adult, mature male.
SPIDER = ("spiderling", "juvenile", "subadult", "adult", "mature male")
NYMPH = ("nymph", "nymph", "subadult nymph", "adult", "adult male")
WORDS: dict[Group, tuple[str, str, str, str, str]] = {
    Group.TARANTULA: SPIDER,
    Group.TRUE_SPIDER: SPIDER,
    Group.SCORPION: ("young scorpion", "juvenile", "subadult", "adult", "adult male"),
    Group.MANTIS: NYMPH,
    Group.ROACH: NYMPH,
    Group.STICK_INSECT: NYMPH,
    Group.WHIP_SPIDER: ("nymph", "nymph", "subadult", "adult", "adult male"),
    Group.BEETLE: ("larva", "larva", "pupa", "beetle (imago)", "male beetle (imago)"),
    Group.ISOPOD: ("manca", "juvenile", "subadult", "adult", "adult male"),
}
PLAIN_WORDS = ("young", "juvenile", "subadult", "adult", "adult male")

ORDER = (Stage.YOUNG, Stage.GROWING, Stage.SUBADULT, Stage.ADULT, Stage.MATURE_MALE)
RANK = {Stage.YOUNG: 0, Stage.GROWING: 1, Stage.SUBADULT: 2, Stage.ADULT: 3, Stage.MATURE_MALE: 3}

# Assumptions: parts of the taxon's adult size. At ×1.30 a molt the last molt but one leaves 0.77, the one before 0.59.
YOUNG_BELOW = 0.25
SUBADULT_FROM = 0.55
ADULT_FROM = 0.80
SPIDERLING_BELOW_MM = 30.0  # leg span; common practice for tarantulas, used where the adult size is not known
CONTRADICTION = 2  # assumption: stages apart before a measurement overrides what the keeper saw

# Common practice: last instar still young, last instar surely not subadult. Counted from the first one that feeds
# or leaves the mother, as the trade does. A higher number alone does not tell subadult from adult: males of
# Centruroides gracilis mature at instar 6 or 7 (Francke & Jones 1982), theraphosids after 8 to 15 molts.
INSTARS: dict[Group, tuple[int, int]] = {
    Group.TARANTULA: (4, 7),
    Group.TRUE_SPIDER: (3, 5),
    Group.SCORPION: (2, 4),
    Group.MANTIS: (3, 5),
    Group.ROACH: (3, 5),
    Group.STICK_INSECT: (2, 4),
    Group.BEETLE: (2, 3),  # three larval instars in scarabs; both are "larva"
}


def stage_label(group: Group, stage: Stage) -> str:
    """Return the group's own word for a stage: a spiderling, a nymph, a pupa."""
    if stage not in ORDER:
        return stage.label
    return WORDS.get(group, PLAIN_WORDS)[ORDER.index(stage)]


def find_stage(
    group: Group,
    *,
    is_group: bool = False,
    instar: int | None = None,
    size_mm: float | None = None,
    adult_size_mm: float | None = None,
    mature_male: bool = False,
    stage_seen: Stage | None = None,
    sex: str | None = None,
) -> StageFinding:
    """Return the stage of an animal and why.

    `size_mm` and `adult_size_mm` are the same measure: leg span for spiders, body length for the others.
    `stage_seen` is the keeper's latest dated judgement. It holds unless a size or instar is two or more stages away;
    `mature_male` (the ultimate molt is on record) beats everything; a group without a judgement is a culture.
    Errors: ValueError for a size or instar that is not positive.
    """
    _check(instar, size_mm, adult_size_mm)
    if mature_male:
        return StageFinding(Stage.MATURE_MALE, "The ultimate molt is on record.")
    seen = None if stage_seen in (None, Stage.UNKNOWN, Stage.CULTURE) else stage_seen
    if is_group:
        return _of_group(seen)
    measured = _by_size(group, size_mm, adult_size_mm) or _by_instar(group, instar)
    found = _weigh(seen, measured)
    if group not in (Group.TARANTULA, Group.TRUE_SPIDER):
        return found
    return _spider_by_sex(sex, found, judged=found.stage is seen)


def _check(*numbers: float | None) -> None:
    if any(number is not None and not 0 < number < float("inf") for number in numbers):
        raise ValueError("A size or an instar must be a number above zero.")


def _of_group(seen: Stage | None) -> StageFinding:
    if seen:
        return StageFinding(seen, "Seen by the keeper in the group.")
    return StageFinding(Stage.CULTURE, "Kept as a group.")


def _weigh(seen: Stage | None, measured: StageFinding | None) -> StageFinding:
    if seen and measured and abs(RANK[seen] - RANK[measured.stage]) >= CONTRADICTION:
        return StageFinding(measured.stage, f"{measured.reason} The keeper's “{seen.label}” does not fit that.")
    if seen:
        return StageFinding(seen, "Seen by the keeper.")
    return measured or StageFinding(Stage.UNKNOWN, "No size, instar or judgement on record.")


def _spider_by_sex(sex: str | None, found: StageFinding, *, judged: bool) -> StageFinding:
    """Correct an adult spider by its sex: a male is adult only by his ultimate molt, a female has none."""
    if found.stage is Stage.ADULT and sex == "male":
        if judged:
            return StageFinding(Stage.MATURE_MALE, "Seen adult by the keeper, and male.")
        return StageFinding(Stage.SUBADULT, f"{found.reason} No ultimate molt on record, so not a mature male yet.")
    if found.stage is Stage.MATURE_MALE and sex == "female":
        return StageFinding(Stage.ADULT, f"{found.reason} The evidence says female, so adult.")
    return found


def _by_size(group: Group, size: float | None, adult: float | None) -> StageFinding | None:
    if size is None or group is Group.BEETLE:  # a grub is often longer than its beetle
        return None
    if adult is None:
        small = group is Group.TARANTULA and size < SPIDERLING_BELOW_MM
        return StageFinding(Stage.YOUNG, f"{size:g} mm across the legs.") if small else None
    part = size / adult
    steps = ((YOUNG_BELOW, Stage.YOUNG), (SUBADULT_FROM, Stage.GROWING), (ADULT_FROM, Stage.SUBADULT))
    stage = next((stage for below, stage in steps if part < below), Stage.ADULT)
    return StageFinding(stage, f"{size:g} mm, {part * 100:.0f} % of the adult size of {adult:g} mm.")


def _by_instar(group: Group, instar: int | None) -> StageFinding | None:
    if instar is None or group not in INSTARS:
        return None
    young, growing = INSTARS[group]
    if instar > growing:
        return None
    return StageFinding(Stage.YOUNG if instar <= young else Stage.GROWING, f"Instar {instar}.")
