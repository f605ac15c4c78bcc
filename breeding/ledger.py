"""The books of a clutch: nothing appears or vanishes without an entry. Pure, on plain values."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby


@dataclass(frozen=True)
class Count:
    """What was found of one stage on a day: alive, dead since the last count, why; `sure` if every head was counted."""

    day: date
    stage: str
    alive: int
    dead: int = 0
    cause: str = ""
    sure: bool = True


@dataclass(frozen=True)
class Leaving:
    """So many taken out of the clutch on a day, and what for: housed, shared, kept as a group."""

    day: date
    number: int
    to: str


@dataclass(frozen=True)
class Line:
    """One day of the books: what should have been there, what was, and by how much the two differ.

    `short` is positive for heads that are missing, negative for heads too many, None where either side was estimated.
    """

    day: date
    stages: dict[str, int]
    expected: int | None
    alive: int
    dead: int
    left: int
    short: int | None


@dataclass(frozen=True)
class Books:
    """A clutch from its opening count to today."""

    lines: list[Line]
    opening: int
    dead: int
    left: int
    remaining: int
    causes: dict[str, int]
    sure: bool

    @property
    def short(self) -> int:
        """Heads that no entry accounts for: positive missing, negative too many."""
        return self.opening - self.dead - self.left - self.remaining

    @property
    def balances(self) -> bool:
        """Whether every head is accounted for."""
        return self.short == 0

    @property
    def sentence(self) -> str:
        """How the books stand, in one sentence."""
        stand = (
            f"{self.opening} at the opening count = {self.dead} dead + {self.left} taken out + {self.remaining} here"
        )
        if self.balances:
            return f"{stand}. It balances."
        gap = f"{self.short} not accounted for" if self.short > 0 else f"{-self.short} more than there can be"
        doubt = "" if self.sure else "; some of it was estimated, so that is no more than a hint"
        return f"{stand.replace(' = ', ' against ')}: {gap}{doubt}."


def books(counts: Iterable[Count], leavings: Iterable[Leaving] = ()) -> Books | None:
    """Keep the books of a clutch: None before the first count.

    The opening is the first day counted, its dead included. Of one day, what is counted is counted before anything is
    taken out. Raises ValueError for a negative number.
    """
    found, out = sorted(counts, key=lambda c: c.day), sorted(leavings, key=lambda o: o.day)
    if any(c.alive < 0 or c.dead < 0 for c in found) or any(o.number < 0 for o in out):
        raise ValueError("A count cannot be below 0.")
    if not found:
        return None
    lines: list[Line] = []
    due: int | None = None
    sure_before, gone = True, 0
    for day, group in groupby(found, key=lambda c: c.day):
        rows = list(group)
        alive, dead, sure = sum(r.alive for r in rows), sum(r.dead for r in rows), all(r.sure for r in rows)
        left = sum(o.number for o in out if o.day < day) - gone if due is not None else 0
        gone = sum(o.number for o in out if o.day < day)
        expected = None if due is None else due - dead - left
        known = expected is not None and sure and sure_before
        lines.append(Line(day, _stages(rows), expected, alive, dead, left, expected - alive if known else None))  # type: ignore[operator]
        due, sure_before = alive, sure
    first = lines[0]
    before = sum(o.number for o in out if o.day < first.day)
    after = sum(o.number for o in out if o.day >= lines[-1].day)
    return Books(
        lines=lines,
        opening=first.alive + first.dead + before,
        dead=sum(line.dead for line in lines),
        left=sum(o.number for o in out),
        remaining=max(lines[-1].alive - after, 0),
        causes=dict(_causes(found)),
        sure=all(c.sure for c in found),
    )


def _stages(rows: Sequence[Count]) -> dict[str, int]:
    stages: Counter[str] = Counter()
    for row in rows:
        stages[row.stage] += row.alive
    return dict(stages)


def _causes(counts: Iterable[Count]) -> Counter[str]:
    causes: Counter[str] = Counter()
    for count in counts:
        if count.dead:
            causes[count.cause or "cause not noted"] += count.dead
    return causes


@dataclass(frozen=True)
class Step:
    """A step of the funnel: how many, and what share of the step before and of the first that is."""

    name: str
    number: int
    of_previous: float | None
    of_first: float | None


def funnel(steps: Sequence[tuple[str, int]]) -> list[Step]:
    """From eggs to housed: each number with its share of the one before and of the first; None where that is 0."""
    found: list[Step] = []
    for name, number in steps:
        if number < 0:
            raise ValueError("A count cannot be below 0.")
        before, first = (found[-1].number, found[0].number) if found else (0, 0)
        found.append(Step(name, number, number / before if before else None, number / first if first else None))
    return found


def shares(total: int, percents: Sequence[float], odd_is_theirs: Sequence[bool] = ()) -> list[int]:
    """Divide a brood by agreement: `percents` of the others, in order; what is left is ours.

    A part of an animal stays with the female's owner unless it was agreed to be theirs (assumption of the trade's
    practice). Raises ValueError for shares that add up to more than everything.
    """
    if total < 0 or any(not 0 <= percent <= 100 for percent in percents):
        raise ValueError("A share lies between 0 and 100 per cent of a count from 0 up.")
    if sum(percents) > 100 + 1e-9:
        raise ValueError("The shares add up to more than the whole brood.")
    theirs = [*odd_is_theirs, *[False] * len(percents)]
    left, found = total, []
    for percent, odd in zip(percents, theirs, strict=False):
        part = total * percent / 100
        number = min(math.ceil(part - 1e-9) if odd else math.floor(part + 1e-9), left)
        left -= number
        found.append(number)
    return found
