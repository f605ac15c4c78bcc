"""Coefficients as a keeper reads them."""

from fractions import Fraction

LEVELS = (
    (0.25, "full siblings"),
    (0.125, "half siblings"),
    (0.0625, "first cousins"),
    (0.015625, "second cousins"),
)
SMALLEST = 0.0005  # below, it is said as almost nothing


def percent(value: float) -> str:
    """12.5 %, 6.25 %, 0.39 %: as many digits as say something."""
    if 0 < value < SMALLEST:
        return "under 0.05 %"
    dyadic = float(value * 1024).is_integer()  # such as 3.125 %, which is better told in full
    return f"{value * 100:.5g} %" if dyadic else f"{value * 100:.3g} %"


def as_fraction(value: float) -> str:
    """1/8 where it is such a fraction, else nothing."""
    found = Fraction(value).limit_denominator(64)
    return f"{found}" if 0 < value < 1 and abs(float(found) - value) < 1e-12 else ""


def say_inbreeding(value: float) -> str:
    """What an inbreeding coefficient is like: "as young of half siblings"."""
    if value < SMALLEST:
        return "no common ancestor of its parents is known" if value == 0 else "its parents are hardly related"
    for level, kin in LEVELS:
        if abs(value - level) < 1e-9:
            return f"as young of {kin}"
    above = [kin for level, kin in LEVELS if level > value]
    below = [kin for level, kin in LEVELS if level < value]
    if not above:
        return "more than young of full siblings"
    return f"between young of {above[-1]} and of {below[0]}" if below else f"less than young of {above[-1]}"
