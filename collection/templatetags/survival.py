"""Filters of the pages about lives and forecasts."""

from django import template

from collection import curves

register = template.Library()


@register.filter
def lasting(days: float) -> str:
    """A length of time: 12 days, 7 months, 3.4 years."""
    return curves.say_time(days)


@register.filter
def share(value: float) -> str:
    """A share with the precision it deserves: 83 %."""
    return f"{value * 100:.0f} %"
