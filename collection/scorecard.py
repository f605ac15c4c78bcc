"""How often were we right: from what became of forecasts to the share that their windows held.

A forecast counts once its window is over. By then it has come inside or outside, or it is still waited for (outside:
late), or the wait was cut short before (the animal died or left). The last kind is censored: on the scale of the
forecast's own chances the waits are lives, and the Kaplan–Meier curve of them says what share ended inside. Without
any censored the share is a plain count, and so are its limits and its chance.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from collection import scoring, survival
from collection.scoring import Coverage

SHOWN_LEVELS = (0.5, 0.8, 0.9)
ENOUGH_TO_WIDEN = 20  # forecasts; with fewer no narrowness is certain enough
SURE = 0.05  # a narrowness that chance alone would bring less often than so
WIDENED_AT = 0.8  # the windows that are shown first
STEP = 0.05  # factors are told to the twentieth, so that not every event moves every window
LATE = 3.0  # where a wait stands that outlasted its window, as a normal score


@dataclass(frozen=True)
class Outcome:
    """One forecast whose window is over: where its event, or the end of its wait, fell as a normal score."""

    place: float
    came: bool
    widened: float = 1.0


@dataclass(frozen=True)
class Held:
    """The windows of one level: how many held what came, of how many decided; `cut_short` were never decided."""

    level: float
    hits: int
    decided: int
    cut_short: int
    coverage: Coverage


@dataclass(frozen=True)
class Width:
    """How many times wider windows should be; `held` of `forecasts` lay in 80 % windows as the model has them."""

    factor: float
    held: int
    forecasts: int


def held(outcomes: Sequence[Outcome], level: float) -> Held | None:
    """How often windows of this level held; None where nothing is decided."""
    reach = _reach(level)
    decided = [case for case in outcomes if case.came or case.place > reach]
    if not decided:
        return None
    cut_short = len(outcomes) - len(decided)
    inside = sum(case.came and abs(case.place) <= reach for case in decided)
    hits = round(_share(outcomes, level) * len(decided)) if cut_short else inside
    return Held(level, hits, len(decided), cut_short, scoring.coverage(hits, len(decided), level))


def _share(outcomes: Sequence[Outcome], level: float) -> float:
    """The share of waits that ended inside, those cut short taken as censored."""
    from collection.special import ndtr

    steps = survival.kaplan_meier([float(ndtr(case.place)) for case in outcomes], [case.came for case in outcomes])
    low, high = (1 - level) / 2, (1 + level) / 2
    before = [step.survival for step in steps if step.time < low]
    return (before[-1] if before else 1.0) - survival.share_at(steps, high)


def width(outcomes: Sequence[Outcome]) -> Width:
    """By how much the windows of a kind must widen: not at all unless they surely hold too little.

    Judged on windows as the model alone would have drawn them, so that widening does not undo itself.
    """
    plain = [Outcome(case.place * case.widened, case.came) for case in outcomes]
    found = held(plain, WIDENED_AT)
    if found is None:
        return Width(1.0, 0, 0)
    enough = found.decided >= ENOUGH_TO_WIDEN and found.coverage.p < SURE and found.coverage.rate < WIDENED_AT
    if not enough:
        return Width(1.0, found.hits, found.decided)
    reach = _reach(WIDENED_AT)
    decided = [case.place if case.came else max(case.place, LATE) for case in plain if case.came or case.place > reach]
    factor = math.ceil(scoring.widening(decided) / STEP - 1e-9) * STEP
    return Width(round(factor, 2), found.hits, found.decided)


def _reach(level: float) -> float:
    """The end of a window of this level as a normal score."""
    from collection.special import ndtri

    return float(ndtri((1 + level) / 2))
