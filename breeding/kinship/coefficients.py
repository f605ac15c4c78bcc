"""The diagonal of the relationship matrix, for all nodes of a pedigree at once.

The tabular method (Emik & Terrill 1949; Henderson 1976), kept only for nodes that will still be a parent: the row of
everyone else is dropped as soon as its last young is done, and sac-mates share one row. With n animals of which at most
m are parents still to come, it takes n·m steps of numpy and m² numbers of memory. Where m is too large for that, the
columns of the matrix are worked out generation by generation instead (Colleau 2002), in bounded memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from breeding.kinship import columns
from breeding.kinship.nodes import NONE, Nodes

if TYPE_CHECKING:
    import numpy as np

MOST_ROWS = 4_600  # 170 MB


def diagonals(nodes: Nodes) -> tuple[list[float], list[float]]:
    """For each node its relationship with itself (1 + F), and the part of it that does not come from its parents."""
    last = _last_use(nodes)
    rows = _rows_needed(last)
    if rows > MOST_ROWS:
        return columns.diagonals(nodes, last)
    return _Table(nodes, last, rows).work_out()


def within(nodes: Nodes, node: int, diagonal: list[float]) -> float:
    """The part of an animal's diagonal that its parents do not explain: 1 − ¼(A_ss + A_dd); not for mixtures."""
    explained = sum(diagonal[parent] for parent in (nodes.first[node], nodes.second[node]) if parent != NONE)
    return 1 - explained / 4


def _last_use(nodes: Nodes) -> list[int]:
    """The last node that draws from each node; its own number when none does."""
    last = list(range(len(nodes)))
    for node, (first, second) in enumerate(zip(nodes.first, nodes.second, strict=True)):
        if first != NONE:
            last[first] = node
        if second != NONE:
            last[second] = node
    for node, mix in nodes.mixes.items():
        for parent, _ in mix:
            last[parent] = max(last[parent], node)
    return last


def _rows_needed(last: list[int]) -> int:
    """The most rows that must stand at one time."""
    ending = [0] * len(last)
    standing = most = 0
    for node, until in enumerate(last):
        if until > node:
            standing += 1
            ending[until] += 1
            most = max(most, standing)
        standing -= ending[node]
    return most


class _Table:
    """Half the relationship matrix among the nodes that will still be parents."""

    def __init__(self, nodes: Nodes, last: list[int], rows: int) -> None:
        import numpy as np

        self.nodes, self.last = nodes, last
        self.kin: np.ndarray = np.zeros((rows, rows))
        self.row = [NONE] * len(nodes)
        self.free = list(range(rows - 1, -1, -1))
        self.zeros: np.ndarray = np.zeros(rows)

    def work_out(self) -> tuple[list[float], list[float]]:
        """Node after node."""
        diagonal = [0.0] * len(self.nodes)
        inside = [0.0] * len(self.nodes)
        row = self.zeros
        for node, (a, b) in enumerate(zip(self.nodes.first, self.nodes.second, strict=True)):
            mix = self.nodes.mixes.get(node)
            if mix is not None:
                row, diagonal[node], inside[node] = self._mixture(mix)
            else:
                both = a != NONE and b != NONE
                diagonal[node] = 1 + float(self.kin[self.row[a], self.row[b]]) if both else 1.0
                inside[node] = within(self.nodes, node, diagonal)
            if self.last[node] > node:
                self._keep(node, self._average(a, b) if mix is None else row, diagonal[node])
            for parent in (a, b) if mix is None else [parent for parent, _ in mix]:
                if parent != NONE and self.last[parent] == node and self.row[parent] != NONE:
                    self.free.append(self.row[parent])
                    self.row[parent] = NONE
        return diagonal, inside

    def _average(self, a: int, b: int) -> np.ndarray:
        """The row of a young of two nodes. What stands under rows given up is left over, and never read."""
        if a == NONE and b == NONE:
            return self.zeros
        if a == NONE or b == NONE:
            half: np.ndarray = self.kin[self.row[max(a, b)]] * 0.5
            return half
        row: np.ndarray = self.kin[self.row[a]] + self.kin[self.row[b]]
        row *= 0.5
        return row

    def _mixture(self, mix: list[tuple[int, float]]) -> tuple[np.ndarray, float, float]:
        """Its row, its diagonal, and what of it the mean of the possible sires does not explain."""
        import numpy as np

        rows = [self.row[parent] for parent, _ in mix]
        chances = np.array([chance for _, chance in mix])
        among = 2 * self.kin[np.ix_(rows, rows)]
        diagonal = float(chances @ among.diagonal()) + max(0.0, 1 - float(chances.sum()))
        return chances @ self.kin[rows], diagonal, diagonal - float(chances @ among @ chances)

    def _keep(self, node: int, row: np.ndarray, diagonal: float) -> None:
        place = self.free.pop()
        self.row[node] = place
        self.kin[place] = row
        self.kin[:, place] = row
        self.kin[place, place] = diagonal / 2
