"""The race of sac against molt as a picture: sac rises above a line, molt hangs below it, chance passed is dotted.

The chance of each coming first falls into cells of a few days from today to the end of the axis; a path joins the
middles of the cells, its height the chance a day. A sign speaks of `SIGN_DAYS` and of no day after them: what it adds
inside and takes away beyond meets there in a step, which is drawn as one and marked, not smoothed. Equal areas are
equal chances inside one figure. What has passed is drawn to the same scale from the pairing to today. A box 1000 wide
and `HEIGHT` high is stretched across; nothing is drawn of what lies beyond the axis. Chances per cell are exact for
straight survivals, within 1e-3 for those met here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from breeding.sacwatch import SIGN_DAYS, SacOutlook
from collection.dates import FuzzyDate
from collection.figures import Scale
from collection.intervals import Survival

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CELL_DAYS = 5
PAST_CELLS = 16
HEIGHT, BASE = 96, 60
TALLEST, DEEPEST = 52.0, 30.0
LEAST_TOP = 1e-6


@dataclass(frozen=True)
class Mark:
    """A sign on the axis: where, what, and when it was seen."""

    x: float
    word: str
    on: date


@dataclass(frozen=True)
class Ridge:
    """One female's figure: three paths in a box 1000 wide, the pairing, today, and the signs in per cent across."""

    sac: str
    molt: str
    past: str
    paired: float | None  # None: before the axis begins
    today: float
    marks: tuple[Mark, ...]
    shown_sac: float  # chance drawn above the line, of all to come
    shown_molt: float
    until: float | None = None  # where signs stop counting, in per cent across: there the sac's height steps
    height: int = HEIGHT
    base: int = BASE


@dataclass(frozen=True)
class Cells:
    """Chances of sac and molt coming first, by cell, and the edges of the cells in days since the pairing."""

    edges: Array
    sac: Array
    molt: Array


def cells(comes: Survival, molts: Survival, elapsed: int, days: int) -> Cells:
    """Return the chances of each coming first in cells from `elapsed` for `days`, neither having come yet.

    Errors: ValueError when an event is certain to have come before.
    """
    import numpy as np

    edges = elapsed + np.arange(0, days + CELL_DAYS, CELL_DAYS, dtype=float)
    a, b = _read(comes, edges), _read(molts, edges)
    if a[0] * b[0] <= 0:
        raise ValueError(f"After {elapsed} days the event is certain to have come; there is nothing left to draw.")
    a, b = a / a[0], b / b[0]
    return Cells(edges, (a[:-1] - a[1:]) * (b[:-1] + b[1:]) / 2, (b[:-1] - b[1:]) * (a[:-1] + a[1:]) / 2)


def ridge(
    clocks: tuple[Survival, Survival],
    paired: FuzzyDate,
    outlook: SacOutlook,
    scale: Scale,
    today: date,
    signs: Sequence[tuple[date, str]] = (),
) -> Ridge:
    """Return the figure of one female; `signs` are days and words, oldest first."""
    elapsed = max((today - paired.middle).days, 0)
    ahead = cells(*clocks, elapsed, (scale.last - today).days)
    sac, molt = _weighed(ahead, elapsed, outlook)
    back = _passed(clocks, paired.middle, scale, today)
    widest = {
        "sac": sac.max(initial=0.0),
        "molt": molt.max(initial=0.0),
        "past": max((y for _, y in back), default=0.0),
    }
    unit = min(TALLEST / max(widest["sac"], widest["past"], LEAST_TOP), DEEPEST / max(widest["molt"], LEAST_TOP))
    middles = (ahead.edges[:-1] + ahead.edges[1:]) / 2 - elapsed
    xs = [scale.at(today + timedelta(days=float(day))) * 10 for day in middles]
    pin = scale.at(today)
    heights = [BASE - y * unit for y in sac]
    until = scale.at(today + timedelta(days=SIGN_DAYS)) if _steps(outlook, len(xs)) else None
    return Ridge(
        sac=_area(pin * 10, *(_with_step(xs, heights, until * 10) if until is not None else (xs, heights))),
        molt=_area(pin * 10, xs, [BASE + y * unit for y in molt]) if outlook.molt_known else "",
        past="M" + "L".join(f"{x * 10:.1f} {BASE - y * unit:.1f}" for x, y in back) if len(back) > 1 else "",
        paired=scale.at(paired.middle) if paired.middle >= scale.first else None,
        today=pin,
        marks=tuple(Mark(scale.at(day), word, day) for day, word in signs if day >= scale.first),
        shown_sac=float(sac.sum()),
        shown_molt=float(molt.sum()),
        until=until,
    )


def _weighed(ahead: Cells, elapsed: int, outlook: SacOutlook) -> tuple[Array, Array]:
    """The cells with the signs weighed: sacs of the coming days by their factor, all else by what is left."""
    import numpy as np

    month = outlook.plain
    if month is None or outlook.ratio == 1 or not 0 < month.first_a < 1:
        return ahead.sac, ahead.molt
    inside, rest = outlook.month.first_a / month.first_a, (1 - outlook.month.first_a) / (1 - month.first_a)
    return np.where(ahead.edges[:-1] < elapsed + SIGN_DAYS, ahead.sac * inside, ahead.sac * rest), ahead.molt * rest


def _steps(outlook: SacOutlook, drawn: int) -> bool:
    """Whether signs move the sac by so much that its height steps on the drawn axis."""
    return outlook.plain is not None and abs(outlook.ratio - 1) > 1e-9 and drawn > SIGN_DAYS // CELL_DAYS


def _with_step(xs: Sequence[float], ys: Sequence[float], at: float) -> tuple[list[float], list[float]]:
    """The same line with an upright step between the last cell that signs speak of and the first after it."""
    edge = SIGN_DAYS // CELL_DAYS
    return [*xs[:edge], at, at, *xs[edge:]], [*ys[:edge], ys[edge - 1], ys[edge], *ys[edge:]]


def _passed(clocks: tuple[Survival, Survival], paired: date, scale: Scale, today: date) -> list[tuple[float, float]]:
    """Points of the chance a cell that has passed, from the pairing or the start of the axis to today."""
    import numpy as np

    begins = max(paired, scale.first)
    if (today - begins).days < CELL_DAYS:
        return []
    edges = np.linspace((begins - paired).days, (today - paired).days, PAST_CELLS + 1)
    a = _read(clocks[0], edges)
    each = (a[:-1] - a[1:]) / np.diff(edges) * CELL_DAYS / a[-1]
    middles = (edges[:-1] + edges[1:]) / 2
    points = [(scale.at(paired + timedelta(days=float(day))), float(y)) for day, y in zip(middles, each, strict=True)]
    return [*points, (scale.at(today), points[-1][1])]


def _read(survival: Survival, days: Array) -> Array:
    import numpy as np

    found: Any = np.asarray(survival(np.maximum(days, 0.0)), dtype=float)
    return found if found.shape == days.shape else np.full(days.shape, float(found))


def _area(start: float, xs: Sequence[float], ys: Sequence[float]) -> str:
    """A closed path on the base line from today on, level from today to the first middle."""
    if not xs:
        return ""
    points = "".join(f"L{x:.1f} {y:.1f}" for x, y in zip(xs, ys, strict=True))
    return f"M{start:.1f} {BASE}L{start:.1f} {ys[0]:.1f}{points}L{xs[-1]:.1f} {BASE}Z"
