"""A pedigree as numbered nodes, parents before young.

Beside the animals there are nodes for whoever is not one known animal: the sire of a sac of which several may be it (a
mixture, drawn once for the whole sac), and unknown parents that sac-mates share. A clone is the same node as its
mother, since the two are genetically one. Expectations over the sires are exact: kinship is linear in each of the two
animals, and the sire of a sac is drawn independently of all that is older (Henderson 1988, with the draw at the sac).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field

from breeding.kinship.animals import CLONAL, Animal, Chances, Id, Parents
from breeding.kinship.founders import UnknownParent

NONE = -1
Links = list[tuple[int, float]]


@dataclass
class Nodes:
    """The nodes: two parents each (-1 unknown), or a mixture of possible sires."""

    first: list[int] = field(default_factory=list)
    second: list[int] = field(default_factory=list)
    names: list[Id] = field(default_factory=list)  # the animal, or the unknown parent, that a node stands for
    mixes: dict[int, Links] = field(default_factory=dict)
    of: dict[Id, int] = field(default_factory=dict)
    shared: dict[Hashable, int] = field(default_factory=dict)  # nodes that sac-mates share
    young: dict[Hashable, list[int]] = field(default_factory=dict)  # young of sacs of which no parent is known

    def __len__(self) -> int:
        """How many nodes there are."""
        return len(self.first)

    def add(self, animals: Sequence[Animal], parents: Mapping[Id, Parents]) -> None:
        """Number these animals, parents first."""
        for animal in animals:
            known = parents[animal.id]
            if animal.mode == CLONAL:
                self.of[animal.id] = self._mother_of_clone(animal, known.dam)
            else:
                dam, sire = self._dam(animal, known.dam), self._sire(animal, known.sires)
                node = self._node(animal.id, dam, sire)
                self.of[animal.id] = node
                if animal.clutch is not None and not known.known:
                    self.young.setdefault(animal.clutch, []).append(node)

    def parents(self, node: int) -> Links:
        """The nodes that this one draws from, and how much of each."""
        mix = self.mixes.get(node)
        if mix is not None:
            return mix
        return [(parent, 0.5) for parent in (self.first[node], self.second[node]) if parent != NONE]

    def _node(self, name: Id, first: int = NONE, second: int = NONE) -> int:
        self.first.append(first)
        self.second.append(second)
        self.names.append(name)
        return len(self.first) - 1

    def _mother_of_clone(self, animal: Animal, dam: Id | None) -> int:
        if dam is not None:
            return self.of[dam]
        if animal.clutch is None:
            return self._node(animal.id)
        return self._unknown(animal.clutch, "dam")

    def _dam(self, animal: Animal, dam: Id | None) -> int:
        if dam is not None:
            return self.of[dam]
        return NONE if animal.clutch is None else self._unknown(animal.clutch, "dam")

    def _sire(self, animal: Animal, sires: Chances) -> int:
        if len(sires) == 1 and sires[0][1] >= 1:
            return self.of[sires[0][0]]
        if not sires:
            return NONE if animal.clutch is None else self._unknown(animal.clutch, "sire")
        key = (animal.clutch, frozenset(sires))
        if animal.clutch is not None and key in self.shared:
            return self.shared[key]
        of_clutch = animal.clutch is not None
        node = self._node(UnknownParent(animal.clutch if of_clutch else animal.id, "sire", of_clutch))
        self.mixes[node] = _merged([(self.of[sire], chance) for sire, chance in sires])
        if of_clutch:
            self.shared[key] = node
        return node

    def _unknown(self, clutch: Hashable, role: str) -> int:
        key = (clutch, role)
        if key not in self.shared:
            self.shared[key] = self._node(UnknownParent(clutch, role, of_clutch=True))
        return self.shared[key]


def _merged(links: Links) -> Links:
    """Two clones that may both be the sire are one."""
    found: dict[int, float] = {}
    for node, chance in links:
        found[node] = found.get(node, 0.0) + chance
    return list(found.items())
