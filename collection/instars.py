"""Instars by whose count? Conventions of numbering, and what one number is in the others.

Tarantulas: out of the egg they are prelarva (postembryo, EWL, N1), then larva (1i, N2), then the first nymph that feeds
(nymph 1, 2i, L1, FH1); from there every count goes up by one at each molt, so the i-number is the L or FH number plus
one (scheme of Vachon 1957; common practice). Scorpions: the newborn on its mother's back is i1, leaving her it is i2.
Mantids and stick insects: the pronymph molts at once, the animal is then L1. Scarab beetles have three larval instars.
Whip spiders and vinegaroons have nymphs. Where a group has no convention, and for molts merely counted here, a number
is shown as it was given and converted into nothing.

A step is the place in the group's own order, the same for all its conventions: 0 is out of the egg for spiders.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from collection.stages import Group, Term
from collection.wording import plural


class Convention(Term):
    """How instars are counted; stored with every number."""

    I = "i", "i-number"  # noqa: E741 - the trade writes it so
    L = "L", "L-number"
    F = "F", "FH number"
    S = "S", "nymph number"
    COUNT = "n", "molts counted here"


@dataclass(frozen=True)
class Scheme:
    """One convention in one group: how a number is written, what number a step has, names of the steps before it."""

    form: str  # with {} for the number
    offset: int = 0  # step minus number
    early: tuple[str, ...] = ()  # names of the steps from 0 that have no number of their own
    meaning: str = ""  # what a keeper reads beside the choice
    offered: bool = True  # False: understood where a list says so, but nobody's way to write it

    def say(self, step: int) -> str:
        """The step in this convention."""
        if 0 <= step < len(self.early):
            return self.early[step]
        return self.form.format(step - self.offset)


PLAIN = Scheme("instar {}", offered=False)
SPIDER = {
    Convention.I: Scheme("{}i", 0, ("EWL",), "2i feeds first"),
    Convention.L: Scheme("L{}", 1, ("N1", "N2"), "L1 feeds first"),
    Convention.F: Scheme("FH{}", 1, ("prelarva", "larva"), "FH1 feeds first"),
    Convention.S: Scheme("nymph {}", 1, ("prelarva", "larva"), "scientific: nymph 1 feeds first"),
}
SCHEMES: dict[Group, dict[Convention, Scheme]] = {
    Group.TARANTULA: SPIDER,
    Group.TRUE_SPIDER: {key: SPIDER[key] for key in (Convention.I, Convention.L, Convention.F)},
    Group.SCORPION: {Convention.I: Scheme("i{}", meaning="i1 rides on the mother")},
    Group.MANTIS: {Convention.L: Scheme("L{}", meaning="L1 out of the ootheca"), Convention.I: PLAIN},
    Group.STICK_INSECT: {Convention.L: Scheme("L{}", meaning="L1 out of the egg"), Convention.I: PLAIN},
    Group.ROACH: {Convention.I: Scheme("instar {}", meaning="instar 1 newborn")},
    Group.BEETLE: {Convention.L: Scheme("L{}", meaning="larva, usually three"), Convention.I: PLAIN},
    Group.WHIP_SPIDER: {Convention.S: Scheme("nymph {}", meaning="nymph 1 leaves the mother"), Convention.I: PLAIN},
}
# What the young are when they leave sac, ootheca or mother and are housed, in the group's first convention (as above).
LEAVING: dict[Group, int] = {
    **dict.fromkeys((Group.TARANTULA, Group.TRUE_SPIDER, Group.SCORPION), 2),
    **dict.fromkeys((Group.MANTIS, Group.STICK_INSECT, Group.ROACH, Group.BEETLE, Group.WHIP_SPIDER), 1),
}
FROM_THE_SAC_UNTIL = 3  # assumption: who was bred here and counted by this step was counted from the sac


@dataclass(frozen=True)
class Reading:
    """A number in a convention asked for, or in a sentence why it has none there."""

    text: str = ""
    unknown: str = ""


def conventions_for(group: Group) -> list[tuple[Convention, str]]:
    """The conventions a keeper of this group may choose from, with what each means; counting molts is always one."""
    known = [(key, scheme.meaning) for key, scheme in SCHEMES.get(group, {}).items() if scheme.offered]
    return [*known, (Convention.COUNT, "")]


def leaving(group: Group) -> int | None:
    """The number, in the group's first convention, of young that were just housed; None where nothing is counted."""
    return LEAVING.get(group)


def step_of(group: Group, number: int, convention: Convention) -> int | None:
    """The step of a number; None where the convention does not cover the group, or only counts.

    Errors: ValueError for a number below zero.
    """
    if number < 0:
        raise ValueError(f"Instars are counted from zero up, not {number}.")
    scheme = SCHEMES.get(group, {}).get(convention)
    return None if scheme is None else number + scheme.offset


def label(group: Group, number: int, convention: Convention) -> str:
    """A number as its convention writes it: 4i, L3, FH3, nymph 3; a mere count says that it is one."""
    scheme = SCHEMES.get(group, {}).get(convention)
    if scheme is not None:
        return scheme.say(number + scheme.offset)
    return f"{plural(number, 'molt')} counted" if convention is Convention.COUNT else f"{convention}{number}"


def convert(group: Group, number: int, source: Convention, target: Convention) -> Reading:
    """One number in another convention. Errors: ValueError for a number below zero."""
    step = step_of(group, number, source)
    schemes = SCHEMES.get(group, {})
    if step is None:
        return Reading(unknown=_why(group, source))
    if target not in schemes:
        return Reading(unknown=_why(group, target))
    return Reading(schemes[target].say(step))


def others(group: Group, number: int, convention: Convention) -> list[str]:
    """The same instar in the group's other conventions, each way of writing once."""
    step = step_of(group, number, convention)
    if step is None:
        return []
    own = label(group, number, convention)
    said = (scheme.say(step) for scheme in SCHEMES[group].values() if scheme.offered)
    return [text for text in dict.fromkeys(said) if text != own]


def _why(group: Group, convention: Convention) -> str:
    if convention is Convention.COUNT:
        return "Molts counted here say nothing of those before, so they are no instar."
    return f"No {convention.label} is in use for this group ({group.label})."


@dataclass(frozen=True)
class Count:
    """One logged instar: its number with its convention."""

    number: int
    convention: Convention


def at_least(group: Group, counts: Sequence[Count], *, bred_here: bool, missed: int = 0) -> bool:
    """Whether the latest number is only a lower bound: unless the animal was counted from the sac, and no molt missed.

    `counts` oldest first. Keepers who start to count at purchase undercount; molts of burrowers are missed.
    """
    if not counts or not bred_here or missed:
        return True
    first = counts[0]
    if first.convention is Convention.COUNT:
        return first.number > 1
    step = step_of(group, first.number, first.convention)
    return step is None or step > FROM_THE_SAC_UNTIL


def tray(logged: Sequence[tuple[int, int]], heads: int) -> list[tuple[int, int]]:
    """How many of a group are at which instar now, highest first, from (instar reached, how many) of each entry.

    Each animal reaches an instar once, so at an instar are those who reached it less those who went on. Never more
    than `heads` in all, the furthest first; who was never logged is not in the list. Errors: ValueError for a negative
    count.
    """
    if heads < 0 or any(count < 0 for _, count in logged):
        raise ValueError("Heads are counted from zero up.")
    reached: dict[int, int] = {}
    for instar, count in logged:
        reached[instar] = reached.get(instar, 0) + count
    found, taken = [], 0
    for instar in sorted(reached, reverse=True):
        here = min(reached[instar], heads) - taken
        if here > 0:
            found.append((instar, here))
            taken += here
    return found
