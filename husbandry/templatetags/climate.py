"""Words for stretches of time and measured values on the climate's pages."""

from __future__ import annotations

from django import template
from django.utils import timezone

from husbandry.climate import Stretch
from husbandry.climate_services.glance import clock, lasting

register = template.Library()


@register.filter
def hours(seconds: float) -> str:
    """How long: 40 min, 3 h, 2 days."""
    return lasting(seconds)


@register.filter
def minutes(number: int) -> str:
    """The same from minutes."""
    return lasting(number * 60)


@register.filter
def clocked(seconds: int | None) -> str:
    """An instant in the house's own time: 14:10 today, else with its day."""
    return "" if seconds is None else clock(seconds, timezone.localtime())


@register.filter
def extent(stretch: Stretch, decimals: int) -> str:
    """A mean with its extremes: 24.6 (22.1–27.9)."""
    if stretch.mean is None or stretch.lowest is None or stretch.highest is None:
        return ""
    return f"{stretch.mean:.{decimals}f} ({stretch.lowest:.{decimals}f}–{stretch.highest:.{decimals}f})"


@register.filter
def tenths(value: float | None) -> str:
    """With one decimal."""
    return "" if value is None else f"{value:.1f}"


@register.filter
def hundredths(value: float | None) -> str:
    """With two decimals."""
    return "" if value is None else f"{value:.2f}"
