"""Which prey suits an animal, by kind and size.

Sizes of feeders: Acheta and Gryllus crickets, Blaptica nymphs and the rest as in the trade's care sheets; where a range
is given it is from the smallest sold to the adult. Size rule: care pages say prey not longer than the body without its
legs; for young, and for mature males that are offered small prey, about the abdomen. All of it is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from collection.stages import Group, Stage

BODY_OF_SPAN = 2.3  # leg span is about 2 to 2.6 times the body length: common practice
SMALL_PREY_SHARE = 0.5  # of the body, about the abdomen: common practice for spiderlings and mature males
SMALL_PREY_STAGES = (Stage.YOUNG, Stage.MATURE_MALE)
WORTH_SHARE = 0.2  # assumption: prey below a fifth of the limit is not worth an ambush
HUNTERS = frozenset(
    {Group.TARANTULA, Group.TRUE_SPIDER, Group.SCORPION, Group.MANTIS, Group.CENTIPEDE, Group.WHIP_SPIDER}
)
IN_THE_AIR = frozenset({Group.MANTIS, Group.TRUE_SPIDER})  # what flies is seen and caught by them


@dataclass(frozen=True)
class Feeder:
    """A kind of feeder, the lengths in mm it is kept in, who it is for, and what is to be known of it."""

    kind: str
    from_mm: float
    to_mm: float
    eaters: frozenset[Group] = HUNTERS
    note: str = ""


FEEDERS = (
    Feeder("springtails", 1, 2),
    Feeder("fruit flies", 2, 3, note="3 mm are the larger species"),
    Feeder("pinhead cricket", 2, 4),
    Feeder("cricket", 5, 21),
    Feeder("field cricket", 20, 30),
    Feeder("roach nymph", 4, 20),
    Feeder("roach", 25, 50),
    Feeder("locust", 8, 60),
    Feeder("buffalo worm", 10, 12),
    Feeder("mealworm", 25, 30, note="burrows: crush the head, or use a dish"),
    Feeder("superworm", 45, 55, note="bites and burrows: crush the head"),
    Feeder("flies", 6, 9, IN_THE_AIR),
)
KINDS = tuple(feeder.kind for feeder in FEEDERS)


@dataclass(frozen=True)
class Suggestion:
    """Prey that suits: of a kind, between two lengths in mm."""

    kind: str
    from_mm: float
    to_mm: float
    note: str

    @property
    def said(self) -> str:
        """In a few words, such as "cricket 5–12 mm"."""
        span = f"{self.from_mm:g}" if self.from_mm >= self.to_mm else f"{self.from_mm:g}–{self.to_mm:g}"
        return f"{self.kind} {span} mm"


def prey_limit(stage: Stage, size_mm: float | None, *, measured_body: bool = False) -> float | None:
    """Return the longest prey in mm that suits: not longer than the body, for young and mature males half of it.

    `size_mm` is the leg span, or the body length when `measured_body`. None where no size is on record. Common
    practice (care pages: prey not longer than the spider's body without its legs). Errors: ValueError for a size that
    is not above zero.
    """
    if size_mm is None:
        return None
    if not size_mm > 0:
        raise ValueError("A size must be a number of millimetres above zero.")
    body = size_mm if measured_body else size_mm / BODY_OF_SPAN
    return round(body * (SMALL_PREY_SHARE if stage in SMALL_PREY_STAGES else 1.0), 1)


def suggest(group: Group, limit_mm: float | None) -> list[Suggestion]:
    """Return prey that suits an animal of a group up to a length in mm, the largest first; none for who grazes."""
    if limit_mm is None:
        return []
    found = []
    for feeder in FEEDERS:
        low, high = max(feeder.from_mm, round(limit_mm * WORTH_SHARE, 1)), min(feeder.to_mm, limit_mm)
        if group in feeder.eaters and low <= high:
            found.append(Suggestion(feeder.kind, low, high, feeder.note))
    return sorted(found, key=lambda one: (-one.to_mm, one.kind))


def say_prey(group: Group, stage: Stage, limit_mm: float | None) -> str:
    """Return in one sentence what suits, or nothing where no size is known or the group grazes."""
    if limit_mm is None:
        return ""
    limit_mm = math.floor(limit_mm) if limit_mm >= 5 else limit_mm  # nobody measures a cricket to the tenth
    found = suggest(group, limit_mm)
    if not found:
        return ""
    rule = "half its body" if stage in SMALL_PREY_STAGES else "its body"
    crushed = " Pre-killed prey may be longer." if stage is Stage.YOUNG else ""
    return f"Up to {limit_mm:g} mm, no longer than {rule}: {', '.join(one.said for one in found[:4])}.{crushed}"


def match(kind: str, mm: float | None, stocks: Sequence[tuple[int, str, float | None]]) -> int | None:
    """Return which stock a meal came out of, by the name and size that were logged, or None where none is meant.

    `stocks`: (id, kind, mm). Names are compared whatever their case. Among stocks of that name the nearest size is
    meant, if it is no more than a third away; a meal without a size belongs to the only stock of its name.
    """
    named = [(pk, size) for pk, name, size in stocks if name.strip().casefold() == kind.strip().casefold()]
    if not kind.strip() or not named:
        return None
    if mm is None or (len(named) == 1 and named[0][1] is None):
        return named[0][0] if len(named) == 1 else next((pk for pk, size in named if size is None), None)
    sized = [(abs(size - mm), pk) for pk, size in named if size is not None and abs(size - mm) * 3 <= max(size, mm)]
    return min(sized)[1] if sized else next((pk for pk, size in named if size is None), None)
