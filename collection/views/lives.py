"""How long the animals of the house live: curves, causes, and a comparison in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection import curves, lifetable, lives
from collection.curves import TimeAxis
from collection.forms.lives import LivesFilter
from collection.lifetable import Curve, Life, Reading

BREATH = 1.04  # a little room after the last thing that is told


@dataclass(frozen=True)
class Line:
    """One curve in the figure: its pattern is its number, for hue says nothing in red light."""

    number: int
    curve: Curve
    path: str
    readings: list[tuple[str, Reading]]


@require_safe
def survival(request: HttpRequest) -> HttpResponse:
    """Curves of survival of what the filter asks for."""
    form = LivesFilter(request.GET)
    asked = form.asked()
    found = lives.read(asked, timezone.localdate())
    groups = lifetable.curves(found.groups)
    told = [curve for curve in groups if not curve.few]
    drawn = told[: lifetable.DRAWN]
    axis = curves.time_axis(max((curve.told_until for curve in drawn), default=1.0) * BREATH)
    difference = lifetable.compare(drawn)
    context = {
        "form": form,
        "asked": asked,
        "found": found,
        "axis": axis,
        "levels": curves.levels(),
        "lines": [_line(number, curve, axis) for number, curve in enumerate(drawn, start=1)],
        "haze": curves.haze(drawn[0].steps, drawn[0].ends, axis) if len(drawn) == 1 else "",
        "few": [curve for curve in groups if curve.few],
        "undrawn": told[lifetable.DRAWN :],
        "difference": lifetable.say_difference(difference) if difference else "",
        "causes": _causes(groups),
        "animals": sum(curve.animals for curve in groups),
        "deaths": sum(curve.deaths for curve in groups),
        "enough": lifetable,
        "height": curves.HEIGHT,
        "base": curves.BASE,
    }
    return render(request, "collection/survival.html", context)


def _line(number: int, curve: Curve, axis: TimeAxis) -> Line:
    path = curves.stair(curve.steps, curve.begins, curve.ends, axis)
    names = {tick.days: curves.say_tick(tick, axis) for tick in axis.ticks}
    readings = [(names[row.time], row) for row in curve.readings(list(names))]
    return Line(number, curve, path, readings)


def _causes(groups: Sequence[Curve]) -> list[lifetable.CauseShare]:
    """Of all that were asked for together; too few deaths have no shares."""
    everybody: list[Life] = [life for curve in groups for life in curve.lives]
    return lifetable.causes(everybody) if everybody else []
