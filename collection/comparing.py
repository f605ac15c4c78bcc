"""An animal's size among others of its instar or of its age, in words; too few others are said to be too few.

An animal grows only at a molt, so between two of them it has the size it came out of the first with. At an age its size
is therefore known where the molt before was measured, and nowhere else: not after a molt that nobody measured, not
before the first, and not after its record ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from collection.dates import say_length

FEWEST_MATES = 3  # assumption: others of the clutch before a place among them says anything
FEWEST_OTHERS = 6  # assumption: others of the species before a share does


@dataclass(frozen=True)
class Life:
    """The sizes of one animal by its age. Ages in whole days since hatching, sizes in mm.

    `steps`: since when it had which size, oldest first; `unmeasured`: ages at which it molted to a size nobody took;
    `until`: the last age at which the record still holds, be it today, its end, or when the next molt is overdue.
    Errors: ValueError for a negative age, steps out of order, a size not above zero.
    """

    steps: tuple[tuple[int, float], ...]
    until: int
    unmeasured: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what no animal can have lived."""
        ages = [age for age, _ in self.steps]
        if ages != sorted(ages):
            raise ValueError("Sizes by age go from the youngest to the oldest.")
        if any(age < 0 for age in (*ages, *self.unmeasured, self.until)):
            raise ValueError("An age is counted from hatching on, so it is never below zero.")
        _check(*(size for _, size in self.steps))

    def size_at(self, age: int) -> float | None:
        """Its size in mm at an age; None where nobody can know it."""
        before = [step for step in self.steps if step[0] <= age]
        if not before or age > self.until:
            return None
        since, size = before[-1]
        return None if any(since < molted <= age for molted in self.unmeasured) else size

    @property
    def known_until(self) -> int | None:
        """The last age at which its size is known; None where no size is."""
        if not self.steps or self.steps[-1][0] > self.until:
            return None
        since = self.steps[-1][0]
        return min([self.until, *(molted - 1 for molted in self.unmeasured if molted > since)])


def at_same_age(own: Life, mates: Sequence[Life], others: Sequence[Life]) -> list[str]:
    """Its place among its clutch mates and its species at the last age at which its own size is known.

    `others` are all of its species, the clutch mates among them. Nothing is said where its own size is never known;
    of mates nothing where there are none.
    """
    age = own.known_until
    size = None if age is None else own.size_at(age)
    if age is None or size is None:
        return []
    at = f"{say_length(age)} of age"
    said = [among_others(size, _sizes(others, age), at)]
    return [among_mates(size, _sizes(mates, age), at), *said] if mates else said


def _sizes(lives: Sequence[Life], age: int) -> list[float]:
    return [size for life in lives if (size := life.size_at(age)) is not None]


def among_mates(size: float, mates: Sequence[float], at: str) -> str:
    """Its place in the clutch, the largest first; who is equally large shares the better place. Sizes in mm.

    Errors: ValueError for a size that is not above zero.
    """
    _check(size, *mates)
    if len(mates) < FEWEST_MATES:
        return f"{_count(len(mates), 'clutch mate')} measured at {at}: too few to compare with."
    place, total = 1 + sum(other > size for other in mates), len(mates) + 1
    where = {1: "The largest", total: "The smallest"}.get(place, f"{_ordinal(place)} largest")
    return f"{where} of {total} clutch mates at {at}."


def among_others(size: float, others: Sequence[float], at: str) -> str:
    """The share of the species that is smaller at the same instar, those equally large counted half.

    Errors: ValueError for a size that is not above zero.
    """
    _check(size, *others)
    if len(others) < FEWEST_OTHERS:
        return f"{_count(len(others), 'other')} of its species measured at {at}: too few to compare with."
    smaller = sum((other < size) + (other == size) / 2 for other in others) / len(others)
    share = {0.0: "none", 1.0: "all"}.get(smaller, f"{round(100 * smaller)} %")
    return f"Larger than {share} of the {len(others)} others of its species at {at}."


def _check(*sizes: float) -> None:
    for size in sizes:
        if not 0 < size < float("inf"):
            raise ValueError(f"A size must be a number above zero, not {size}.")


def _count(n: int, word: str) -> str:
    many = word if n == 1 else f"{word}s"
    return f"No {many}" if not n else f"{n} {many}"


def _ordinal(n: int) -> str:
    teen = 10 < n % 100 < 20
    return f"{n}{'th' if teen else {1: 'st', 2: 'nd', 3: 'rd'}.get(n % 10, 'th')}"
