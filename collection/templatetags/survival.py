"""Filters of the pages about lives and forecasts."""

from django import template

from collection import curves
from collection.scoring import Coverage

register = template.Library()


@register.filter
def lasting(days: float) -> str:
    """A length of time: 12 days, 7 months, 3.4 years."""
    return curves.say_time(days)


@register.filter
def share(value: float) -> str:
    """A share with the precision it deserves: 83 %."""
    return f"{value * 100:.0f} %"


@register.filter
def across(value: float) -> str:
    """A share as per cent across a figure."""
    return f"{value * 100:.2f}"


@register.filter
def reach(found: Coverage) -> str:
    """The width of the limits, in per cent across."""
    return f"{(found.high - found.low) * 100:.2f}"


@register.filter
def rowdown(number: int) -> int:
    """Pixels down of the n-th row of a figure of rates."""
    return 22 + 34 * number


@register.filter
def oddness(p: float) -> str:
    """A chance of something odd, in words a keeper weighs."""
    return "likely" if p > 0.2 else f"{p:.2f}" if p >= 0.01 else "below 0.01"


@register.filter
def signed(days: float) -> str:
    """Days off: +12 is later than forecast."""
    return f"{round(days):+d}".replace("-", "−") if round(days) else "0"


@register.filter
def tenth(value: float | None) -> str:
    """One decimal; nothing where nothing is known."""
    return "" if value is None else f"{value:.1f}"


@register.filter
def at(values: tuple[str, ...], place: int) -> str:
    """One of several."""
    return values[place]
