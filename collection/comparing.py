"""An animal's size among others of its instar, in words; too few others are said to be too few."""

from collections.abc import Sequence

FEWEST_MATES = 3  # assumption: others of the clutch before a place among them says anything
FEWEST_OTHERS = 6  # assumption: others of the species before a share does


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
