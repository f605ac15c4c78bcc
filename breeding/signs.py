"""Signs on a paired female: which of them a group shows, and by how much each moves the odds of a brood to come.

A ratio says how much oftener a sign is seen of females that bring a brood within 30 days than of those that do not.
No study gives any: all are assumptions of this program, each with its reason, and the keeper may put figures in their
place. Ratios of distinct signs are multiplied as if they came independently, which flatters a female that shows all.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from collection.stages import Group

ASSUMED = "an assumption: no study gives it"
LEAST, MOST = 0.01, 100.0  # a sign is never proof
NOTHING = "nothing"
SPIDERS = (Group.TARANTULA, Group.TRUE_SPIDER)


@dataclass(frozen=True)
class SignWeight:
    """By how much a sign multiplies the odds of a brood within 30 days, and why. ValueError outside 0.01–100."""

    ratio: float
    why: str

    def __post_init__(self) -> None:
        """Refuse what would be proof, or no number."""
        if not LEAST <= self.ratio <= MOST:
            raise ValueError(f"A sign multiplies the odds by {LEAST:g} to {MOST:g}, not by {self.ratio:g}.")


DEFAULT: Mapping[str, SignWeight] = {
    "closed": SignWeight(2.0, "females close themselves in to lay, but to molt as well"),
    "webbing": SignWeight(2.5, "heavy webbing may come about three days before the sac; common practice"),
    "swollen": SignWeight(1.8, "a body heavy with eggs or young; a good eater looks alike"),
    "fattening": SignWeight(1.4, "eggs take food; so does anyone who is fed well"),
    "refusing": SignWeight(1.4, "she stops eating before a brood, and before a molt"),
    "digging": SignWeight(1.2, "moving about the floor, for a chamber or for no reason"),
    "bald_dark": SignWeight(0.4, "new hairs under the old skin: it speaks for a molt"),
    NOTHING: SignWeight(0.8, "looked at and nothing new, counted only when nothing else was seen"),
}

SHOWN: Mapping[Group, tuple[str, ...]] = {
    Group.TARANTULA: ("fattening", "webbing", "closed", "refusing", "digging", "bald_dark", NOTHING),
    Group.TRUE_SPIDER: ("fattening", "webbing", "closed", "refusing", NOTHING),
    Group.SCORPION: ("swollen", "refusing", NOTHING),
    Group.WHIP_SPIDER: ("swollen", "refusing", NOTHING),
    Group.CENTIPEDE: ("swollen", "closed", "digging", "refusing", NOTHING),
    Group.MANTIS: ("swollen", "refusing", NOTHING),
}
OTHERS = ("swollen", "digging", NOTHING)
WORDS: Mapping[str, str] = {
    "fattening": "fattening",
    "webbing": "heavy webbing",
    "closed": "burrow or retreat closed",
    "refusing": "refusing food",
    "digging": "digging",
    "bald_dark": "bald patch darkens",
    "swollen": "body swollen",
    NOTHING: "nothing new",
}
OWN_WORDS: Mapping[tuple[str, Group], str] = {
    ("closed", Group.CENTIPEDE): "brood chamber closed",
    ("swollen", Group.SCORPION): "swollen between the plates, pale young showing through",
    ("swollen", Group.MANTIS): "abdomen swollen",
    ("swollen", Group.STICK_INSECT): "abdomen swollen",
}


def shown_by(group: Group) -> tuple[str, ...]:
    """Return the signs that can be seen of a group."""
    return SHOWN.get(group, OTHERS)


def word_of(sign: str, group: Group) -> str:
    """Return a sign in the words of the group."""
    return OWN_WORDS.get((sign, group), WORDS.get(sign, sign))


def counting(signs: Iterable[str]) -> list[str]:
    """Return the signs that count, each once; «nothing new» counts only when nothing else was seen."""
    seen = list(dict.fromkeys(signs))
    return [sign for sign in seen if sign != NOTHING or len(seen) == 1]


def sign_ratio(signs: Iterable[str], weights: Mapping[str, SignWeight] = DEFAULT) -> float:
    """Return the product of the ratios of the signs that count; a sign that no row knows says nothing."""
    return math.prod(weights[sign].ratio for sign in counting(signs) if sign in weights)
