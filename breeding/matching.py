"""Who with whom: the best set of pairs under limits, exactly.

A transport problem, solved by successive best augmenting paths (Busacker & Gowen 1960; Edmonds & Karp 1972): after k
paths the k pairs found are the best k pairs there are, and each further path gains at most as much as the one before.
Scores are turned into whole numbers first (a floating-point number is a fraction with a power of two below), so that no
rounding decides. Pure Python: 60 by 60 takes about 0.05 s, 100 by 100 about 0.3 s.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Hashable, Mapping
from fractions import Fraction
from numbers import Integral, Real
from typing import Any, TypeVar

F = TypeVar("F", bound=Hashable)
M = TypeVar("M", bound=Hashable)
Limit = int | Mapping[Any, int]


def best_plan(
    scores: Mapping[tuple[F, M], float],
    female_limit: Limit = 1,
    male_limit: Limit = 1,
    pairs: int | None = None,
) -> list[tuple[F, M]]:
    """The pairs with the highest total score; a pair that has no score is forbidden, and each pair is made once.

    Limits say how often a female or a male is paired: one number for all, or a mapping (whoever is not in it: once).
    Without `pairs` a pair is taken only when it adds to the total; with it, exactly that many are taken, also at a
    loss. Of several best plans the same is found always, whatever the order of the mapping; females come in order.
    Errors: ValueError for a score or a limit that is no number, or when so many pairs cannot be made.
    """
    if pairs is not None and (isinstance(pairs, bool) or not isinstance(pairs, Integral) or pairs < 0):
        raise ValueError("The number of pairs is a whole number, 0 or more.")
    females = _in_order({female for female, _ in scores})
    males = _in_order({male for _, male in scores})
    network = _Network(
        [_limit(female_limit, female, "female") for female in females],
        [_limit(male_limit, male, "male") for male in males],
        _gains(scores, females, males),
    )
    wanted = math.inf if pairs is None else pairs
    while network.pairs < wanted:
        path, gain = network.best_path()
        if path is None:
            if pairs is not None:
                possible = {0: "No pair", 1: "Only one pair"}.get(network.pairs, f"Only {network.pairs} pairs")
                raise ValueError(f"{possible} can be made under these limits, not {pairs}.")
            break
        if pairs is None and gain <= 0:
            break
        network.take(path)
    return [(females[female], males[male]) for female, male in network.taken()]


def _limit(limit: Limit, animal: Hashable, sex: str) -> int:
    found = limit.get(animal, 1) if isinstance(limit, Mapping) else limit
    if isinstance(found, bool) or not isinstance(found, Integral) or found < 0:
        raise ValueError(f"How often a {sex} is paired is a whole number, 0 or more; {animal} has {found}.")
    return int(found)


def _in_order(animals: set[Any]) -> list[Any]:
    """Sorted, numbers and texts each among themselves; anything else by how it is written."""
    return sorted(animals, key=lambda one: (type(one).__name__, one if isinstance(one, int | str) else repr(one)))


def _gains(scores: Mapping[tuple[F, M], float], females: list[F], males: list[M]) -> list[dict[int, int]]:
    """For each female her possible males with the score as a whole number, all by the same factor."""
    exact: dict[tuple[F, M], Fraction] = {}
    for pair, score in scores.items():
        if not isinstance(score, Real) or not math.isfinite(score):
            raise ValueError(f"The score of {pair[0]} with {pair[1]} is no number. Leave out a pair that may not be.")
        exact[pair] = Fraction(score if isinstance(score, int | Fraction) else float(score))
    factor = math.lcm(*(score.denominator for score in exact.values()))
    place = {male: number for number, male in enumerate(males)}
    row = {female: number for number, female in enumerate(females)}
    gains: list[dict[int, int]] = [{} for _ in females]
    for (female, male), gain in sorted(exact.items(), key=lambda item: (row[item[0][0]], place[item[0][1]])):
        gains[row[female]][place[male]] = int(gain * factor)
    return gains


class _Network:
    """Females, males, and the pairs taken so far, as numbers."""

    def __init__(self, females: list[int], males: list[int], gains: list[dict[int, int]]) -> None:
        self.females, self.males = females, males  # how often each may still be paired
        self.gains = gains
        self.mates: list[dict[int, None]] = [{} for _ in males]  # of each male, the females he is taken with
        self.pairs = 0

    def taken(self) -> list[tuple[int, int]]:
        """The pairs taken, in order."""
        return sorted((female, male) for male, females in enumerate(self.mates) for female in females)

    def best_path(self) -> tuple[list[tuple[int, int]] | None, int]:
        """The change that makes one pair more at the greatest gain: pairs to take and to give up, by turns.

        Bellman and Ford's walk, from the females that are free to a male that is; no circle gains, for what is taken
        is the best of its size.
        """
        at_female = {female: 0 for female, limit in enumerate(self.females) if limit}
        at_male: dict[int, int] = {}
        came_f: dict[int, int] = {}
        came_m: dict[int, int] = {}
        waiting = deque(at_female)
        while waiting:
            female = waiting.popleft()
            for male, gain in self.gains[female].items():
                reached = at_female[female] + gain
                if female in self.mates[male] or (male in at_male and reached <= at_male[male]):
                    continue
                at_male[male], came_m[male] = reached, female
                for other in self.mates[male]:
                    back = reached - self.gains[other][male]
                    if other not in at_female or back > at_female[other]:
                        at_female[other], came_f[other] = back, male
                        waiting.append(other)
        free = [male for male, limit in enumerate(self.males) if limit and male in at_male]
        if not free:
            return None, 0
        best = max(free, key=lambda male: (at_male[male], -male))
        return _walk_back(best, came_m, came_f), at_male[best]

    def take(self, path: list[tuple[int, int]]) -> None:
        """Make the change; the path runs from its male back to its female."""
        for step, (female, male) in enumerate(path):
            if step % 2 == 0:
                self.mates[male][female] = None
            else:
                del self.mates[male][female]
        self.males[path[0][1]] -= 1
        self.females[path[-1][0]] -= 1
        self.pairs += 1


def _walk_back(male: int, came_m: dict[int, int], came_f: dict[int, int]) -> list[tuple[int, int]]:
    path = [(came_m[male], male)]
    while path[-1][0] in came_f:
        female = path[-1][0]
        path.append((female, came_f[female]))
        path.append((came_m[came_f[female]], came_f[female]))
    return path
