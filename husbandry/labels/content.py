"""What a label says, as plain values; and which parts the keeper can choose."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

SHORT_NOTE = 24  # letters
LIVE = "Live animal"
CARE = "open with care"
WHOM_TO_ASK = "Bite, sting, or anything in the eye: poison centre or doctor, at once."


class Kind(StrEnum):
    """The three kinds of label."""

    ENCLOSURE = "enclosure"
    SPIDERLING = "spiderling"
    TRANSPORT = "transport"

    @property
    def label(self) -> str:
        """What the keeper reads."""
        return KIND_LABELS[self.value]


KIND_LABELS = {
    "enclosure": "enclosure label",
    "spiderling": "spiderling cup label",
    "transport": "transport cup label",
}


class Part(StrEnum):
    """What can be printed beside the name, the keeper's code, the tag and the hazard class, which always are.

    In the order in which they give way when a label is too small: the first one first.
    """

    HELP = "help"
    NOTE = "note"
    COMMON = "common"
    PLACE = "place"
    AUTHORSHIP = "authorship"
    PRICE = "price"
    DATE = "date"
    LISTING = "listing"
    DESCENT = "descent"
    WORDS = "words"
    SEX = "sex"
    CUT = "cut"

    @property
    def label(self) -> str:
        """What the keeper reads."""
        return PART_LABELS[self]


PART_LABELS = {  # in the order in which they are offered
    Part.AUTHORSHIP: "authorship",
    Part.COMMON: "common name",
    Part.SEX: "sex mark",
    Part.DATE: "hatched or arrived",
    Part.WORDS: "hazard in words",
    Part.NOTE: "note on the hazard",
    Part.HELP: "whom to ask after a bite",
    Part.LISTING: "listing and source code",
    Part.DESCENT: "sire not known or not sure",
    Part.PLACE: "place in the rack",
    Part.PRICE: "price",
    Part.CUT: "lines to cut along",
}
_USUAL = {Part.SEX, Part.DATE, Part.LISTING, Part.DESCENT}
DEFAULTS: dict[Kind, frozenset[Part]] = {
    Kind.ENCLOSURE: frozenset({*_USUAL, Part.AUTHORSHIP, Part.COMMON, Part.WORDS}),
    Kind.SPIDERLING: frozenset({Part.SEX, Part.DATE, Part.DESCENT}),
    Kind.TRANSPORT: frozenset({*_USUAL, Part.WORDS, Part.NOTE, Part.HELP}),
}


@dataclass(frozen=True)
class Hazard:
    """One class: its drawn mark, "V2", how much ink it gets (1 to 3), and what it means."""

    mark: str
    text: str
    level: int
    words: str


@dataclass(frozen=True)
class Name:
    """A scientific name as written, with its authorship."""

    name: str
    authorship: str = ""


@dataclass(frozen=True)
class Content:
    """All that a label may say; what is empty takes no room."""

    tag: str
    code: str
    names: tuple[Name, ...] = ()
    common: str = ""
    sex: str = ""  # name of a mark
    lives_here: str = ""  # codes of the animals, on the label of an enclosure
    count: str = ""  # "×12" for a group
    date: str = ""
    short_date: str = ""  # to the month
    hazards: tuple[Hazard, ...] = ()
    note: str = ""
    listing: str = ""
    descent: str = ""  # a sire that is not one known male; that it is a hybrid stands with the name
    price: str = ""
    place: str = ""

    @property
    def clear_tag(self) -> str:
        """The tag as it is printed: two groups of four."""
        return f"{self.tag[:4]} {self.tag[4:]}"

    @property
    def short_note(self) -> str:
        """The note in the fewest words, for a species with a hazard but without a class."""
        first = re.split(r"[:;,(]", self.note)[0].strip()
        return first if len(first) <= SHORT_NOTE else "hazard: see its page"

    @property
    def letters(self) -> str:
        """Every letter that may be printed, to look for those that no face has."""
        names = "".join(name.name + name.authorship for name in self.names)
        return names + self.common + self.code + self.lives_here + self.note + self.listing + self.place
