"""Which of two events comes first: sac or molt, for any two survival functions of days.

A survival function takes days (a number or an array) and gives the chance that nothing has come by then; it may fall in
steps, as a Kaplan–Meier curve does. The names are those of `collection.intervals`, which passes them on.
"""

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Conditional = Callable[[Array], Array]

Survival = Callable[[Any], Any]  # days (a number or an array) to the chance of no event by then

LONGEST_DAYS = 2.0**24  # "ever": 46,000 years
CELLS = (48, 48, 48)  # ever better placed: dense where either survival falls
CLOSE = 1e-8  # a cell whose halves say the same is done; others are halved again
LOPSIDED = 15 / 16
HALVINGS = 48  # a step of a survival function is closed in on until the other one stands still


class Race(NamedTuple):
    """Chances that a comes first, b comes first, or neither within the horizon; they sum to 1."""

    first_a: float
    first_b: float
    neither: float


def with_chance(survival: Survival, chance: float) -> Survival:
    """Return the survival of an event that comes at all only with `chance`: 1 − chance·(1 − S)."""
    if not 0 <= chance <= 1:
        raise ValueError(f"A chance lies between 0 and 1, not {chance}.")
    return lambda days: 1 - chance * (1 - survival(days))


def race(survival_a: Survival, survival_b: Survival, elapsed: float, horizon: float) -> Race:
    """Return which of two independent events comes first in (elapsed, elapsed + horizon], neither having come yet.

    Chance of a first: the integral of −S_b dS_a over S_a(elapsed)·S_b(elapsed). `horizon` may be infinite. The
    survival functions take days and may be able to take arrays; a survival at 0 is 1. Accuracy about 1e-7, also where
    one falls in steps; when both fall in the same step, each is first half the time. Errors: ValueError when an event
    is certain to have come before `elapsed`.
    """
    import numpy as np

    start = from_zero_up(elapsed, "The time elapsed")
    length = math.inf if horizon == math.inf else from_zero_up(horizon, "The horizon")
    a, b = _conditional(survival_a, start), _conditional(survival_b, start)
    if length == 0:
        return Race(0.0, 0.0, 1.0)
    first_a, first_b = np.maximum(_areas(a, b, _edges(a, b, start, length)), 0.0).tolist()
    return Race(first_a, first_b, max(0.0, 1 - first_a - first_b))


def from_zero_up(value: float, what: str) -> float:
    """Return a time that can be. Errors: ValueError below zero, for NaN and infinity."""
    if not 0 <= value < math.inf:
        raise ValueError(f"{what} must be a number from zero up, not {value}.")
    return float(value)


def _conditional(survival: Survival, start: float) -> "Conditional":
    """Return the survival given none by `start`, for arrays, whatever the function itself can take."""
    import numpy as np

    def plain(t: "Array") -> "Array":
        late = t > 0
        values = np.ones_like(t)
        try:
            found = np.asarray(survival(t[late]), dtype=float)
        except (TypeError, ValueError):
            found = np.empty(0)
        if found.shape != t[late].shape:
            found = np.array([float(survival(float(day))) for day in t[late]])
        values[late] = found
        return values

    base = float(plain(np.array([start]))[0])
    if not 0 < base < 1.001:  # a function of the caller's may be rounded
        raise ValueError(f"After {start:g} days the event is certain to have come; there is nothing left to race.")
    return lambda t: plain(t) / base


def _edges(a: "Conditional", b: "Conditional", start: float, length: float) -> "Array":
    """Return cell edges, dense where either survival falls."""
    import numpy as np

    span = LONGEST_DAYS if length == math.inf else length
    edges = start + np.concatenate([[0.0], np.geomspace(span / LONGEST_DAYS, span, CELLS[0])])
    for cells in CELLS[1:]:
        fall = np.maximum.accumulate(2 - a(edges) - b(edges) + np.linspace(0, 0.5, edges.size))
        edges = np.interp(np.linspace(fall[0], fall[-1], cells + 1), fall, edges)
    return edges


def _areas(a: "Conditional", b: "Conditional", edges: "Array") -> "Array":
    """Return −∫ b da and −∫ a db, halving each cell until its halves say what the whole did."""
    import numpy as np

    days = np.stack([edges[:-1], (edges[:-1] + edges[1:]) / 2, edges[1:]])
    at = np.stack([a(days), b(days)])
    whole, total = _in_cells(at), np.zeros(2)
    for _ in range(HALVINGS):
        between = (days[:-1] + days[1:]) / 2
        new = np.stack([a(between), b(between)])
        halves = [np.stack([days[i], between[i], days[i + 1]]) for i in (0, 1)]
        parts = [np.stack([at[:, i], new[:, i], at[:, i + 1]], axis=1) for i in (0, 1)]
        found = [_in_cells(part) for part in parts]
        open_ = (np.abs(found[0] + found[1] - whole).max(0) > CLOSE) | _lopsided(at)
        total += (found[0] + found[1])[:, ~open_].sum(1)
        days = np.concatenate([half[:, open_] for half in halves], axis=1)
        at = np.concatenate([part[:, :, open_] for part in parts], axis=2)
        whole = np.concatenate([one[:, open_] for one in found], axis=1)
        if not days.size:
            break
    areas: Array = total + whole.sum(1)
    return areas


def _lopsided(at: "Array") -> "NDArray[np.bool_]":
    """Return in which cells one falls in one half alone, so that its halves say no more than the cell."""
    falls = at[:, :-1] - at[:, 1:]
    whole = falls.sum(1)
    found: NDArray[np.bool_] = (whole.prod(0) > CLOSE) & (falls.max(1) > LOPSIDED * whole).any(0)
    return found


def _in_cells(at: "Array") -> "Array":
    """Return −∫ b da and −∫ a db of cells given at both ends and the middle; exact where a and b are parabolas."""
    import numpy as np

    falls = at[:, :-1] - at[:, 1:]
    middles = (at[:, :-1] + at[:, 1:])[::-1] / 2
    fine = (falls * middles).sum(1)
    coarse = (at[:, 0] - at[:, 2]) * (at[:, 0] + at[:, 2])[::-1] / 2
    cells: Array = np.asarray((4 * fine - coarse) / 3)
    return cells
