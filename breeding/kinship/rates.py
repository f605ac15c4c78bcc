"""Effective size and rates of inbreeding.

Wright 1931 (4 Nm Nf / (Nm + Nf)); Falconer & Mackay, Introduction to Quantitative Genetics, ch. 4 (rate of inbreeding);
Gutiérrez et al. 2009 (individual rate, exponent 1/(t − 1); the paper of 2008 used 1/t).
"""

import math

MOST = 1e12  # breeding animals of one sex: beyond all that live


def effective_size(females: float, males: float) -> float:
    """Effective size of so many breeding females and males, all else equal; 0 when one sex is missing.

    Errors: ValueError for a negative or infinite number.
    """
    if not all(0 <= number <= MOST for number in (females, males)):
        raise ValueError("Numbers of breeding females and males are 0 or more.")
    return 4 * females * males / (females + males) if females and males else 0.0


def inbreeding_rate(before: float, after: float) -> float:
    """ΔF from one generation's mean F to the next: (after − before) / (1 − before)."""
    if not (-1 <= before < 1 and -1 <= after <= 1):
        raise ValueError("Inbreeding coefficients lie between 0 and 1, and the first below 1.")
    return (after - before) / (1 - before)


def size_from_rate(rate: float) -> float:
    """Effective size that a rate of inbreeding tells of: 1 / (2 ΔF); infinite when inbreeding does not grow."""
    if math.isnan(rate):
        raise ValueError("The rate of inbreeding is no number.")
    return 1 / (2 * rate) if rate > 0 else math.inf


def individual_rate(inbreeding: float, generations: float) -> float | None:
    """ΔF of one animal over its equivalent complete generations; None when fewer than two stand behind it."""
    if not 0 <= inbreeding <= 1 or not math.isfinite(generations) or generations < 0:
        raise ValueError("An inbreeding coefficient lies between 0 and 1, and generations are 0 or more.")
    if generations <= 1:
        return None
    return float(1 - (1 - inbreeding) ** (1 / (generations - 1)))
