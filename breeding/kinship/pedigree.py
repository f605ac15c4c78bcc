"""A pedigree: inbreeding and kinship of its animals, and what its founders left to the living.

Sources: Wright 1922; Emik & Terrill 1949; Henderson 1976; Meuwissen & Luo 1992 and Colleau 2002 (the decomposition
A = T D T′); Henderson 1988 (uncertain sires); Ballou & Lacy 1995 and Caballero & Toro 2000 (mean kinship, gene
diversity, founder genome equivalents as 1 / (2 · mean kinship)); Lacy 1989 (founder equivalents). Founders are taken as
unrelated and not inbred: wild-caught animals of one batch may be neither.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from heapq import heappop, heappush
from typing import Any

from breeding.kinship import coefficients
from breeding.kinship.animals import Animal, Id, Parents, check, in_order, parents_of
from breeding.kinship.founders import UnknownParent
from breeding.kinship.nodes import NONE, Nodes


class Pedigree:
    """Animals with their parents. F of an animal never changes when young are added: `extend` works out new rows only.

    `known` holds inbreeding coefficients on file for the animals of an older state; they are taken as they are.
    Errors: ValueError with a sentence for a circle of descent, a male dam, a female sire, a parent that did not hatch
    first, a parent that is not in the pedigree, an id given twice, chances above 1.
    """

    def __init__(self, animals: Iterable[Animal] = (), known: Mapping[Id, float] | None = None) -> None:
        self._animals: dict[Id, Animal] = {}
        self._nodes = Nodes()
        self._sacs: dict[Hashable, Parents] = {}
        self._diagonal: list[float] = []  # 1 + F
        self._within: list[float] = []
        self._pairs: dict[tuple[int, int], float] = {}
        self._enter(list(animals))
        if known is None:
            self._diagonal, self._within = coefficients.diagonals(self._nodes)
        else:
            self._work_out(known)

    def extend(self, animals: Iterable[Animal]) -> dict[Id, float]:
        """Add young, and new founders; returns their inbreeding coefficients. What was worked out stays as it is."""
        new = list(animals)
        self._enter(new)
        self._work_out({})
        return {animal.id: self._of(animal.id) for animal in new}

    def inbreeding(self) -> dict[Id, float]:
        """F of every animal: expected, where several sires are possible."""
        return {one: self._diagonal[node] - 1 for one, node in self._nodes.of.items()}

    def kinship(self, a: Id, b: Id) -> float:
        """The chance that a gene drawn of one and a gene drawn of the other are the same by descent.

        It is the F that young of the two would have. An animal with itself: ½ (1 + F).
        """
        return self._related(self._node(a), self._node(b)) / 2

    def mean_kinship(self, living: Iterable[Id]) -> dict[Id, float]:
        """Each animal's mean kinship with all the living, itself included."""
        ids = list(living)
        related = self._times(self._weights(ids))
        return {one: related[self._nodes.of[one]] / 2 for one in ids}

    def gene_diversity(self, living: Iterable[Id]) -> float:
        """1 − the mean of the mean kinships."""
        return 1 - self._mean_of_all(list(living))

    def founder_genome_equivalents(self, living: Iterable[Id]) -> float:
        """How many unrelated founders would hold the same gene diversity: 1 / (2 · mean kinship)."""
        return 1 / (2 * self._mean_of_all(list(living)))

    def founder_contributions(self, living: Iterable[Id]) -> dict[Id, float]:
        """The part of the genes of the living that comes from each founder; the parts add up to 1.

        An unknown parent is a founder of its own (`UnknownParent`), one of a sac is shared by its sac-mates.
        """
        shares = self._upwards(self._weights(list(living)))
        found: dict[Id, float] = {}
        for node, share in enumerate(shares):
            if share > 0:
                for founder, part in self._founders_in(node, share):
                    found[founder] = found.get(founder, 0.0) + part
        return found

    def founder_equivalents(self, living: Iterable[Id]) -> float:
        """How many equal founders would be as uneven a share: 1 / Σp²."""
        return 1 / sum(share**2 for share in self.founder_contributions(living).values())

    def generations(self) -> dict[Id, float]:
        """Equivalent complete generations behind each animal: Σ ½ of each known parent's, plus one for each."""
        depth = [0.0] * len(self._nodes)
        for node in range(len(self._nodes)):
            unknown = isinstance(self._nodes.names[node], UnknownParent)
            links = self._nodes.parents(node)
            step = 0.0 if unknown else 1.0
            depth[node] = sum(share * (depth[one] + step * self._is_known(one)) for one, share in links)
        return {one: depth[node] for one, node in self._nodes.of.items()}

    def _is_known(self, node: int) -> float:
        """1 for an animal; for a mixture of possible sires their chances; 0 for an unknown parent."""
        if node in self._nodes.mixes:
            return sum(chance for _, chance in self._nodes.mixes[node])
        return 0.0 if isinstance(self._nodes.names[node], UnknownParent) else 1.0

    def _enter(self, new: list[Animal]) -> None:
        before = len(self._animals)
        known = {**self._animals, **{animal.id: animal for animal in new}} if before else {a.id: a for a in new}
        if len(known) != before + len(new):
            raise ValueError(f"{_twice(new, self._animals)} stands twice in the pedigree. Ids are never used twice.")
        parents = parents_of(new, self._sacs)
        check(new, parents, known)
        self._nodes.add(in_order(new, parents), parents)
        self._animals = known
        for animal in new:
            if animal.clutch is not None:
                self._sacs.setdefault(animal.clutch, parents[animal.id])

    def _work_out(self, known: Mapping[Id, float]) -> None:
        """The diagonals of the nodes that have none yet, each from its parents' relationship or from the file."""
        on_file = {self._nodes.of[one]: value for one, value in known.items() if one in self._nodes.of}
        for node in range(len(self._diagonal), len(self._nodes)):
            mix = self._nodes.mixes.get(node)
            if mix is not None:
                diagonal, inside = self._mixture(mix)
            else:
                a, b = self._nodes.first[node], self._nodes.second[node]
                related = 0.0
                if node not in on_file and NONE not in (a, b):
                    related = self._related(a, b)
                diagonal = 1 + on_file.get(node, related / 2)
                inside = coefficients.within(self._nodes, node, self._diagonal)
            self._diagonal.append(diagonal)
            self._within.append(inside)

    def _mixture(self, mix: list[tuple[int, float]]) -> tuple[float, float]:
        own = sum(chance * self._diagonal[node] for node, chance in mix)
        own += max(0.0, 1 - sum(chance for _, chance in mix))
        explained = sum(p * q * self._related(a, b) for a, p in mix for b, q in mix)
        return own, own - explained

    def _related(self, a: int, b: int) -> float:
        """An entry of the relationship matrix, from the ancestors that the two share."""
        if a == b:
            return self._diagonal[a]
        pair = (min(a, b), max(a, b))
        if pair not in self._pairs:
            mine, other = self._line(pair[1]), self._line(pair[0])
            shared = mine.keys() & other.keys()
            self._pairs[pair] = sum(mine[node] * other[node] * self._within[node] for node in sorted(shared))
        return self._pairs[pair]

    def _line(self, start: int) -> dict[int, float]:
        """How much of each of its ancestors' own part is in a node."""
        line, heap = {start: 1.0}, [-start]
        while heap:
            node = -heappop(heap)
            for parent, share in self._nodes.parents(node):
                if parent in line:
                    line[parent] += line[node] * share
                else:
                    line[parent] = line[node] * share
                    heappush(heap, -parent)
        return line

    def _weights(self, ids: Sequence[Id]) -> list[float]:
        if not ids:
            raise ValueError("No animals are named, so there is no mean over them.")
        weights = [0.0] * len(self._nodes)
        for one in ids:
            weights[self._node(one)] += 1 / len(ids)
        return weights

    def _upwards(self, weights: list[float]) -> list[float]:
        """From the living to all their ancestors."""
        shares = list(weights)
        for node in range(len(shares) - 1, -1, -1):
            if shares[node]:
                for parent, share in self._nodes.parents(node):
                    shares[parent] += share * shares[node]
        return shares

    def _times(self, weights: list[float]) -> list[float]:
        """The relationship matrix times a vector, in one pass up and one pass down (Colleau 2002)."""
        shares = self._upwards(weights)
        for node, share in enumerate(shares):
            own = share * self._within[node]
            shares[node] = own + sum(part * shares[parent] for parent, part in self._nodes.parents(node))
        return shares

    def _mean_of_all(self, ids: list[Id]) -> float:
        means = self.mean_kinship(ids)
        return sum(means[one] for one in ids) / len(ids)

    def _founders_in(self, node: int, share: float) -> Iterable[tuple[Id, float]]:
        """What of a node's share comes from no node above it."""
        links, name = self._nodes.parents(node), self._nodes.names[node]
        if not links:
            yield self._only_child(name), share
        elif node in self._nodes.mixes:
            rest = 1 - sum(chance for _, chance in links)
            if rest > 1e-12:
                yield name, rest * share
        elif len(links) == 1:
            role = "sire" if self._nodes.second[node] == NONE else "dam"
            yield UnknownParent(name, role), share / 2

    def _only_child(self, name: Any) -> Id:
        """Two unknown parents of a sac of which one animal is on file are no two founders: it is one itself."""
        if isinstance(name, UnknownParent) and name.of_clutch:
            young = self._nodes.young.get(name.of, ())
            if len(young) == 1:
                found: Id = self._nodes.names[young[0]]
                return found
        founder: Id = name
        return founder

    def _of(self, one: Id) -> float:
        return self._diagonal[self._node(one)] - 1

    def _node(self, one: Id) -> int:
        if one not in self._nodes.of:
            raise ValueError(f"{one} is not in the pedigree.")
        return self._nodes.of[one]


def _twice(new: list[Animal], before: Mapping[Id, Animal]) -> Id:
    seen = set(before)
    for animal in new:
        if animal.id in seen:
            return animal.id
        seen.add(animal.id)
    return None
