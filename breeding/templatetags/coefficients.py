"""Coefficients and shares as a page shows them."""

from django import template

from breeding.kinship.words import percent

register = template.Library()


@register.filter
def coefficient(value: float) -> str:
    """An inbreeding coefficient or a kinship in per cent, with the digits that say something."""
    return percent(value)


@register.filter
def of_hundred(share: float) -> str:
    """A share as a number of per cent for a drawing, with a point whatever the language."""
    return f"{share * 100:.2f}"


@register.filter
def hundredfold(share: float) -> str:
    """A share as a plain number of per cent for a field: 12.5."""
    return f"{share * 100:g}"
