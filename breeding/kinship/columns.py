"""Columns of the relationship matrix by generations, in bounded memory (Colleau 2002: A x = T D T′ x).

For pedigrees in which very many animals stay parents for a long time. Only nodes that are a parent are carried along.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations
from typing import TYPE_CHECKING, Any

from breeding.kinship.nodes import NONE, Links, Nodes

if TYPE_CHECKING:
    import numpy as np

AT_ONCE = 48  # columns worked out together: 25 MB for 65,000 parents; more are no faster
Pair = tuple[int, int]


def diagonals(nodes: Nodes, last: list[int]) -> tuple[list[float], list[float]]:
    """As `coefficients.diagonals`, generation after generation; `last` is the last use of each node."""
    return _Generations(nodes, last).work_out()


class _Steps:
    """For one generation, whose places lie beside each other: the shares it takes of other places, as a sparse matrix.

    scipy's product of a sparse matrix with a block of columns runs ten times as fast as gathering rows in numpy.
    """

    def __init__(self, start: int, links: list[Links], places: int) -> None:
        import numpy as np
        from scipy.sparse import csr_array

        flat = [link for found in links for link in found]
        self.part = slice(start, start + len(links))
        self.shares: Any = csr_array(
            (
                np.array([share for _, share in flat], dtype=float),
                np.array([other for other, _ in flat], dtype=np.int32),
                np.cumsum([0, *map(len, links)], dtype=np.int32),
            ),
            shape=(len(links), places),
        )

    def add_to(self, values: np.ndarray) -> None:
        """Add to each place the shares of those it is linked with."""
        if self.shares.nnz:
            values[self.part] += self.shares @ values


class _Generations:
    """Nodes by their longest line of descent."""

    def __init__(self, nodes: Nodes, last: list[int]) -> None:
        self.nodes = nodes
        self.level = self._levels()
        used = sorted((node for node, until in enumerate(last) if until > node), key=self.level.__getitem__)
        self.place = dict(zip(used, range(len(used)), strict=True))  # parents only, numbered by generation
        self.levels: dict[int, list[int]] = defaultdict(list)
        for node, level in enumerate(self.level):
            self.levels[level].append(node)
        self.down: dict[int, _Steps] = {}  # from parents to young, filled as far as has been worked out
        self.up: dict[int, _Steps] = {}  # from young to parents

    def _levels(self) -> list[int]:
        level = [0] * len(self.nodes)
        for node in range(len(self.nodes)):
            parents = self.nodes.parents(node)
            level[node] = 1 + max((level[parent] for parent, _ in parents), default=-1)
        return level

    def work_out(self) -> tuple[list[float], list[float]]:
        """The diagonal of each node and the part of it that its parents do not explain."""
        import numpy as np

        diagonal, inside = [1.0] * len(self.nodes), [1.0] * len(self.nodes)
        self.inside: np.ndarray = np.zeros((len(self.place), 1))
        for level in sorted(self.levels):
            wanted = {pair for node in self.levels[level] for pair in self._pairs(node)}
            found = self._between(wanted, level)
            for node in self.levels[level]:
                diagonal[node], inside[node] = self._fill(node, diagonal, found)
                if node in self.place:
                    self.inside[self.place[node]] = inside[node]
            self._link(level)
        return diagonal, inside

    def _pairs(self, node: int) -> list[Pair]:
        """Whose relationship must be known for this node."""
        mix = self.nodes.mixes.get(node)
        if mix is not None:
            return [(min(a, b), max(a, b)) for (a, _), (b, _) in combinations(mix, 2)]
        a, b = self.nodes.first[node], self.nodes.second[node]
        return [] if NONE in (a, b) or a == b else [(min(a, b), max(a, b))]

    def _fill(self, node: int, diagonal: list[float], found: dict[Pair, float]) -> tuple[float, float]:
        mix = self.nodes.mixes.get(node)
        if mix is not None:
            own = sum(chance * diagonal[parent] for parent, chance in mix)
            own += max(0.0, 1 - sum(chance for _, chance in mix))
            explained = sum(chance**2 * diagonal[parent] for parent, chance in mix)
            for (a, p), (b, q) in combinations(mix, 2):
                explained += 2 * p * q * found[min(a, b), max(a, b)]
            return own, own - explained
        a, b = self.nodes.first[node], self.nodes.second[node]
        related = 0.0
        if NONE not in (a, b):
            related = diagonal[a] if a == b else found[min(a, b), max(a, b)]
        explained = sum(diagonal[parent] for parent in (a, b) if parent != NONE) / 4
        return 1 + related / 2, 1 - explained

    def _between(self, wanted: set[Pair], level: int) -> dict[Pair, float]:
        """The relationships of these pairs, all of lower generations."""
        by_younger: dict[int, list[int]] = defaultdict(list)
        for older, younger in wanted:
            by_younger[younger].append(older)
        found: dict[Pair, float] = {}
        columns = list(by_younger)
        for start in range(0, len(columns), AT_ONCE):
            part = columns[start : start + AT_ONCE]
            values = self._columns(part, level)
            for number, younger in enumerate(part):
                for older in by_younger[younger]:
                    found[older, younger] = float(values[self.place[older], number])
        return found

    def _columns(self, part: list[int], level: int) -> np.ndarray:
        """Columns of the relationship matrix: up to the founders, then down again."""
        import numpy as np

        values: np.ndarray = np.zeros((len(self.place), len(part)))
        for number, node in enumerate(part):
            values[self.place[node], number] = 1
        for step in range(level - 1, -1, -1):
            self.up[step].add_to(values)
        values *= self.inside
        for step in range(level):
            self.down[step].add_to(values)
        return values

    def _link(self, level: int) -> None:
        """Make this generation passable: its own links to its parents, and to it from its young."""
        if level == 0:
            self.young: dict[int, Links] = defaultdict(list)
            for node in self.place:
                for parent, share in self.nodes.parents(node):
                    self.young[parent].append((self.place[node], share))
        here = [node for node in self.levels[level] if node in self.place]
        start = self.place[here[0]] if here else 0
        own = [[(self.place[parent], share) for parent, share in self.nodes.parents(node)] for node in here]
        self.down[level] = _Steps(start, own, len(self.place))
        self.up[level] = _Steps(start, [self.young[node] for node in here], len(self.place))
