"""How many unsexed young hold a pair: binomial and beta-binomial with losses, and draws from a tray.

With n young, a share p of females and a chance s that one lives, P(both sexes) = 1 − (1 − sp)^n − (1 − s(1 − p))^n +
(1 − s)^n. A belief Beta(a, b) in p is averaged over. Drawn without putting back: the hypergeometric distribution.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from numbers import Real
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Belief = float | tuple[float, float]
SLACK = 1e-12  # rounding of logarithms; Beta(1, 1) and 39 animals give 0.95 exactly
MOST = 1_000_000  # nobody raises more
TAIL = 14.0  # standard deviations of the number of survivors beyond which nothing is left to add


def animals_for_pair(confidence: float, female_fraction: Belief = 0.5, survival: float = 1.0) -> int:
    """Return the least number of unsexed young that holds both sexes, alive, with `confidence`.

    `female_fraction` is a share, or (a, b) for a Beta(a, b) belief in it; `survival` the chance that one lives to be
    used. Errors: ValueError outside 0–1, where no number can do, or where more than a million would be needed.
    """
    return animals_for(1, 1, confidence, female_fraction, survival)


def animals_for(
    females: int, males: int, confidence: float, female_fraction: Belief = 0.5, survival: float = 1.0
) -> int:
    """Return the least number of young that holds at least so many females and males, alive, with `confidence`.

    Limits and errors as in `animals_for_pair`; at least one of each is asked for, at most 50.
    """
    _share(confidence, "The confidence", below=1)
    chance = _chance(females, males, female_fraction, survival)
    low, high = females + males, females + males
    while chance(high) < confidence - SLACK:
        if high >= MOST:
            raise ValueError("No number of animals that anyone could raise gives that confidence.")
        low, high = high, min(2 * high, MOST)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= confidence - SLACK else (middle + 1, high)
    return high


def chance_of(
    animals: int, females: int = 1, males: int = 1, female_fraction: Belief = 0.5, survival: float = 1.0
) -> float:
    """Return the chance that of so many unsexed young at least these females and males live to be used."""
    chance = _chance(females, males, female_fraction, survival)
    return chance(animals) if _whole(animals, "The number of animals") >= females + males else 0.0


def chance_among(females: Sequence[float], survival: float = 1.0) -> float:
    """Return the chance that animals with these chances of being female hold a pair, alive."""
    _share(survival, "Survival")
    for chance in females:
        _share(chance, "The chance of a female")
    no_female = math.prod(1 - survival * p for p in females)
    no_male = math.prod(1 - survival * (1 - p) for p in females)
    return min(1.0, max(0.0, 1 - no_female - no_male + (1 - survival) ** len(females)))


def draws_for_pair(total: int, males: int, confidence: float) -> int:
    """Return how many of `total` animals, `males` of them male, must be taken to hold both sexes with `confidence`.

    Hypergeometric: P = 1 − [C(N − M, n) + C(M, n)] / C(N, n). A confidence of 1 asks for one more than the commoner
    sex has. Errors: ValueError when one sex is absent, for parts of animals, or a confidence outside 0–1.
    """
    _share(confidence, "The confidence")
    total, males = _whole(total, "The number of animals"), _whole(males, "The number of males")
    if not 0 < males < total:
        raise ValueError("There is no pair to draw: the animals are all of one sex.")
    certain = max(males, total - males) + 1
    low, high = 2, certain
    while low < high and confidence < 1:
        middle = (low + high) // 2
        enough = chance_of_draw(total, males, middle) >= confidence - SLACK
        low, high = (low, middle) if enough else (middle + 1, high)
    return high


def chance_of_draw(total: int, males: int, drawn: int) -> float:
    """Return the chance that `drawn` of `total` animals, `males` of them male, hold both sexes."""
    total, males, drawn = (_whole(value, "A number of animals") for value in (total, males, drawn))
    if not (0 <= males <= total and 0 <= drawn <= total):
        raise ValueError("There are not more males, nor more animals to take, than animals.")
    return max(0.0, 1 - _none_of(total, males, drawn) - _none_of(total, total - males, drawn)) if drawn else 0.0


def _none_of(total: int, special: int, drawn: int) -> float:
    """The chance that none of `special` animals is among the drawn; the two numbers may change places."""
    few, many = min(special, drawn), max(special, drawn)
    chance = 1.0
    for i in range(few):
        if total - many <= i:
            return 0.0
        chance *= (total - many - i) / (total - i)
        if chance < 1e-18:
            return 0.0
    return chance


def _chance(females: int, males: int, belief: Belief, s: float) -> Callable[[int], float]:
    """The chance of enough of both as a function of the number raised."""
    _share(s, "Survival", above=0)
    if not all(isinstance(wanted, int) and 1 <= wanted <= 50 for wanted in (females, males)):
        raise ValueError("Ask for at least one and at most fifty of each sex, in whole animals.")
    if not isinstance(belief, float | Real):
        pair = [float(value) for value in belief]
        if len(pair) != 2 or not all(0 < value < math.inf for value in pair):
            raise ValueError("A belief in the share of females is two numbers above zero.")
        a, b = pair
        return lambda n: _summed(n, females, males, (a, b), s)
    p = _share(belief, "The share of females", above=0, below=1)
    if females == males == 1:
        return lambda n: 1 - (1 - s * p) ** n - (1 - s * (1 - p)) ** n + (1 - s) ** n
    return lambda n: _summed(n, females, males, p, s)


def _summed(n: int, females: int, males: int, belief: Belief, s: float) -> float:
    """Sum over how many live: k of them lack females or males with the (beta-)binomial chance."""
    import numpy as np

    least = females + males
    if n < least:
        return 0.0
    low, high = n, n
    if s < 1:
        spread = TAIL * math.sqrt(n * s * (1 - s)) + 20
        low, high = max(0, math.floor(n * s - spread)), min(n, math.ceil(n * s + spread))
    k = np.arange(low, high + 1, dtype=float)
    weights = _survivors(k, n, s)
    if isinstance(belief, tuple):
        too_few = _fewer(k, females, *belief) + _fewer(k, males, *belief[::-1])
    else:
        too_few = _fewer_of(k, females, belief) + _fewer_of(k, males, 1 - belief)
    return float(1 - (weights * np.where(k < least, 1.0, np.minimum(too_few, 1.0))).sum())


def _survivors(k: NDArray[np.float64], n: int, s: float) -> NDArray[np.float64]:
    """The binomial chances of k survivors, from the ratio of neighbours; what lies beyond the window is nil."""
    import numpy as np

    if len(k) == 1:
        return np.ones(1)
    steps = np.log((n - k[:-1]) / (k[:-1] + 1)) + math.log(s) - math.log1p(-s)
    logs = np.concatenate([[0.0], np.cumsum(steps)])
    chances = np.exp(logs - logs.max())
    result: NDArray[np.float64] = chances / chances.sum()
    return result


def _fewer(k: NDArray[np.float64], wanted: int, a: float, b: float) -> NDArray[np.float64]:
    """The chance that k animals hold fewer than `wanted` of the sex whose share is Beta(a, b)."""
    import numpy as np

    i = np.arange(int(k[-1]), dtype=float)
    with np.errstate(divide="ignore"):  # a share that is as good as one leaves none of the other
        none = np.concatenate([[0.0], np.cumsum(np.log1p(-a / (a + b + i)))])  # ln of Π (b + i) / (a + b + i)
    term = np.exp(none[int(k[0]) :])
    return _terms(term, wanted, lambda j: np.maximum(k - j, 0) / (j + 1) * (a + j) / np.maximum(b + k - j - 1, b))


def _fewer_of(k: NDArray[np.float64], wanted: int, p: float) -> NDArray[np.float64]:
    """The same for a share that is known."""
    import numpy as np

    return _terms(np.exp(k * math.log1p(-p)), wanted, lambda j: np.maximum(k - j, 0) / (j + 1) * p / (1 - p))


def _terms(term: NDArray[np.float64], wanted: int, ratio: Callable[[int], Any]) -> NDArray[np.float64]:
    """The sum of the first `wanted` terms, each the one before times its ratio."""
    total = term.copy()
    for j in range(wanted - 1):
        term = term * ratio(j)
        total += term
    return total


def _whole(value: float, what: str) -> int:
    if not math.isfinite(value) or value != int(value):
        raise ValueError(f"{what} is a whole number; {value} is none.")
    return int(value)


def _share(value: float, what: str, *, above: float = -1, below: float = 2) -> float:
    if not (0 <= value <= 1 and above < value < below):
        raise ValueError(f"{what} of {value} leaves nothing to work out; it is a share between 0 and 1.")
    return value
