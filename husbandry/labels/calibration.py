"""A printer's own error, measured once on the calibration page and taken back on every page after.

The printer puts what should stand at x mm to a + s·x mm. The page gives both: a ruler at its corner mark reads a + s·m,
and its rule of L mm reads s·L. What should stand at x is then drawn at (x - a)/s.
"""

from __future__ import annotations

from dataclasses import dataclass

from husbandry.labels.papers import Paper

RULE_MM = 100.0
MARK_MM = 10.0  # from the corner mark to the edges of a sheet
ROLL_MARK_MM = 3.0
MOST_SCALE_ERROR = 0.06  # "fit to page" shrinks by 3 to 6 %; more is another mistake
MOST_SHIFT_MM = 15.0


@dataclass(frozen=True)
class Axis:
    """One direction: `shift` mm is added to everything, `scale` stretches it."""

    shift: float = 0.0
    scale: float = 1.0

    def drawn(self, x: float) -> float:
        """Return where to draw, in mm, what should stand at `x` mm."""
        return (x - self.shift) / self.scale


@dataclass(frozen=True)
class Calibration:
    """The printer's error across and down."""

    across: Axis = Axis()
    down: Axis = Axis()


TRUE = Calibration()


def mark(paper: Paper) -> float:
    """Return how far the corner marks stand from the edges of this paper, mm."""
    return ROLL_MARK_MM if paper.is_roll else MARK_MM


def corner(paper: Paper) -> tuple[float, float]:
    """Return where both rules begin, mm from the upper left; their ticks and numbers stand outside this corner."""
    return (mark(paper) + 9.5, mark(paper) + 9.0) if paper.is_roll else (45.0, 60.0)


def rules(paper: Paper) -> tuple[float, float]:
    """Return the lengths of the rules across and down, mm: 100, or as many tens as fit; 0 where none does."""
    left, top = corner(paper)
    room = (paper.page_width - left - mark(paper), paper.page_height - top - mark(paper))
    return min(RULE_MM, max(room[0] // 10 * 10, 0.0)), min(RULE_MM, max(room[1] // 10 * 10, 0.0))


def axis(mark_mm: float, rule_mm: float, read_mark: float | None, read_rule: float | None) -> Axis:
    """Return a printer's error in one direction from what was read; None means: as it should be.

    Raises ValueError with a sentence when the reading cannot be this page.
    """
    scale = 1.0 if read_rule is None or not rule_mm else read_rule / rule_mm
    if abs(scale - 1) > MOST_SCALE_ERROR:
        raise ValueError(
            f"This rule is {rule_mm:g} mm long. Read as {read_rule:g} mm, the page was not printed at 100 %: "
            "choose “actual size” and print it again."
        )
    shift = 0.0 if read_mark is None else read_mark - scale * mark_mm
    if abs(shift) > MOST_SHIFT_MM:
        raise ValueError(
            f"The mark stands {mark_mm:g} mm from the edge; {read_mark:g} mm is too far off to be taken back."
        )
    return Axis(shift, scale)
