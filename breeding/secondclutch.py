"""Who lays again from one mating: of which genera and groups a female is watched on after a brood, and how long.

Common practice of the trade, no study: a second sac one to three months after the first, smaller, in *Psalmopoeus*,
*Pterinochilus*, *Poecilotheria* and *Neoholothele*; mantids lay several oothecae from one mating, and so do many true
spiders (*Phidippus regius* about four clutches). The intervals of the last two are assumptions.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from collection.stages import Group

COMMON = (1.0, 1.0)  # assumption: belief that a second one follows, before any record: one in two, worth two pairings


@dataclass(frozen=True)
class LaysAgain:
    """The wait from one brood to the next of the same mating, in months, its middle four fifths, and its basis."""

    months_min: float
    months_max: float
    basis: str


DOUBLE = LaysAgain(1, 3, "a second sac of one mating, one to three months after the first, is common practice here")
GENERA: Mapping[str, LaysAgain] = dict.fromkeys(
    ("Psalmopoeus", "Pterinochilus", "Poecilotheria", "Neoholothele"), DOUBLE
)
GROUPS: Mapping[Group, LaysAgain] = {
    Group.MANTIS: LaysAgain(0.3, 1.2, "mantids lay several oothecae from one mating; the time between them is assumed"),
    Group.TRUE_SPIDER: LaysAgain(0.7, 2.5, "several sacs come of one mating; the time between them is assumed"),
}


def lays_again(name: str, group: Group) -> LaysAgain | None:
    """Return what is known of a second brood of a taxon by its scientific name; None where one is not expected."""
    return GENERA.get(name.partition(" ")[0]) or GROUPS.get(group)
