"""What a pedigree is told of one animal, and what is refused before anything is computed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from numbers import Real
from typing import Any

from collection.dates import FuzzyDate

Id = Any  # hashable: what animals are told apart by
Sire = Any  # an id, a mapping of ids to probabilities, or None
Chances = tuple[tuple[Id, float], ...]  # possible sires with their probabilities; what misses to 1 is unknown
CLONAL = "clonal"
MOST_NAMED = 8  # in the sentence about a circle of descent
SLACK = 1e-9  # probabilities are typed or come from a division: so much above 1 is still 1


@dataclass(frozen=True, slots=True)
class Animal:
    """One animal of a pedigree.

    `sire` is an id, None, or `{id: probability}`; what misses to 1, or stands under None, is an unknown sire, unrelated
    to all. Animals with the same `clutch` came out of one sac: they share its dam and its sire, known or not.
    `mode="clonal"` is a female's young without a male that is her copy (thelytoky without recombination); one animal
    named as both parents is selfing, which is another thing. `sex` ("female", "male") and `hatched` serve to refuse
    what cannot be.
    """

    id: Id
    dam: Id | None = None
    sire: Sire = None
    clutch: Hashable | None = None
    mode: str = ""
    sex: str = ""
    hatched: date | FuzzyDate | None = None


@dataclass(frozen=True, slots=True)
class Parents:
    """Who the parents are once the sac has had its say."""

    dam: Id | None
    sires: Chances

    @property
    def known(self) -> list[Id]:
        """Everyone who is or may be a parent."""
        found = [sire for sire, _ in self.sires]
        return found if self.dam is None else [self.dam, *found]


NOBODY = Parents(None, ())


def chances_of(animal: Animal) -> Chances:
    """The possible sires. Errors: ValueError for probabilities that are none."""
    if animal.sire is None:
        return ()
    if not isinstance(animal.sire, Mapping):
        return ((animal.sire, 1.0),)
    if not all(isinstance(p, Real) and 0 <= float(p) <= 1 + SLACK for p in animal.sire.values()):
        raise ValueError(f"The possible sires of {animal.id}: each chance lies between 0 and 1.")
    chances = tuple((sire, float(p)) for sire, p in animal.sire.items() if p != 0)
    if math.fsum(p for _, p in chances) > 1 + SLACK:
        raise ValueError(f"The possible sires of {animal.id}: their chances add up to more than 1.")
    return tuple((sire, p) for sire, p in chances if sire is not None)


def parents_of(animals: Sequence[Animal], sacs: Mapping[Hashable, Parents]) -> dict[Id, Parents]:
    """The parents of each animal. Whoever is given none takes those of the sac; `sacs` holds sacs known before.

    Errors: ValueError when sac-mates have two dams, or a sire is named for a sac that stood without one.
    """
    shared = _sacs(animals, sacs)
    found = {}
    for animal in animals:
        sires = chances_of(animal)
        sac = shared.get(animal.clutch, NOBODY) if animal.clutch is not None else NOBODY
        dam = sac.dam if animal.dam is None else animal.dam
        found[animal.id] = Parents(dam, () if animal.mode == CLONAL else sires or sac.sires)
    return found


def _sacs(animals: Sequence[Animal], before: Mapping[Hashable, Parents]) -> dict[Hashable, Parents]:
    """What each sac says of the parents: its dam, and its sires where all who name any name the same."""
    dams: dict[Hashable, set[Id]] = defaultdict(set)
    named: dict[Hashable, dict[frozenset[tuple[Id, float]], Chances]] = defaultdict(dict)
    for animal in animals:
        if animal.clutch is None:
            continue
        dams[animal.clutch].update(() if animal.dam is None else (animal.dam,))
        if sires := chances_of(animal):
            named[animal.clutch][frozenset(sires)] = sires
    found = {}
    for clutch in dams.keys() | named.keys():
        known = before.get(clutch)
        here = dams[clutch] | ({known.dam} if known is not None and known.dam is not None else set())
        if len(here) > 1:
            raise ValueError(f"The sac {clutch} is said to have two dams: {_listed(here)}. Sac-mates share one.")
        if known is not None:
            if (here and known.dam is None) or (named[clutch] and not known.sires):
                raise ValueError(f"The sac {clutch} is on file without this parent. Name it for all its young at once.")
            found[clutch] = known
            continue
        sires = next(iter(named[clutch].values())) if len(named[clutch]) == 1 else ()
        found[clutch] = Parents(next(iter(here), None), sires)
    return found


def check(animals: Sequence[Animal], parents: Mapping[Id, Parents], known: Mapping[Id, Animal]) -> None:
    """Refuse what cannot be, with a sentence for the keeper; `known` holds all animals, also those of before."""
    dams = {parents[animal.id].dam for animal in animals}
    sires = {sire for animal in animals for sire, _ in parents[animal.id].sires}
    for animal in animals:
        if animal.mode not in {"", CLONAL}:
            raise ValueError(f"“{animal.mode}” is no way to have young; it is clonal, or left empty.")
        if animal.mode == CLONAL and animal.sire is not None:
            raise ValueError(f"{animal.id} is said to be a clone of its dam; a clone has no sire.")
        for parent in parents[animal.id].known:
            if parent not in known:
                raise ValueError(f"{parent} is a parent of {animal.id} but is not in the pedigree.")
            if parent == animal.id:
                raise ValueError(f"{animal.id} is named as its own parent.")
            if _not_older(known[parent].hatched, animal.hatched):
                raise ValueError(f"{parent} did not hatch before its young {animal.id}.")
    for dam in dams - {None}:
        if known[dam].sex == "male":
            raise ValueError(f"{dam} is named as a dam but is a male.")
    for sire in sires:
        if known[sire].sex == "female":
            raise ValueError(f"{sire} is named as a sire but is a female.")


def in_order(animals: Sequence[Animal], parents: Mapping[Id, Parents]) -> list[Animal]:
    """Parents before their young, else as given. Errors: ValueError for a circle of descent."""
    by_id = {animal.id: animal for animal in animals}
    state: dict[Id, bool] = {}  # False: being looked at, True: done
    ordered: list[Animal] = []
    for animal in animals:
        stack = [] if animal.id in state else [animal.id]
        while stack:
            top = stack[-1]
            if top in state:
                stack.pop()
                if not state[top]:
                    state[top] = True
                    ordered.append(by_id[top])
                continue
            state[top] = False
            for parent in parents[top].known:
                if parent in by_id and not state.get(parent, False):
                    if parent in state:
                        _refuse_circle(parent, [one for one in stack if state.get(one) is False])
                    stack.append(parent)
    return ordered


def _refuse_circle(start: Id, path: list[Id]) -> None:
    circle = [*path[path.index(start) :], start]
    if len(circle) > MOST_NAMED:
        circle = [*circle[: MOST_NAMED - 2], "…", start]
    raise ValueError(f"{_listed(circle, ' comes from ')}: nobody is its own ancestor.")


def _listed(ids: Iterable[Id], between: str = ", ") -> str:
    return between.join(str(one) for one in ids)


def _not_older(parent: date | FuzzyDate | None, young: date | FuzzyDate | None) -> bool:
    """Whether, of all that is known of the two days, the parent cannot have hatched first."""
    if parent is None or young is None:
        return False
    earliest = parent.earliest if isinstance(parent, FuzzyDate) else parent
    latest = young.latest if isinstance(young, FuzzyDate) else young
    return earliest >= latest
