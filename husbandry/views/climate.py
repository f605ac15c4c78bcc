"""The climate of a place, of an enclosure, of one sensor: ribbons, what was outside, and for how long."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.rights import helper_may
from husbandry import alarms
from husbandry.climate_services import corrections, glance, ribbons
from husbandry.climate_services.ribbons import Hanging, Span
from husbandry.models import Enclosure, Place, Posting, Refusal, Sensor

PER_PAGE = 6  # ribbons; a year of them is two million readings otherwise
LISTED = 40
SHOWN = 12


def chosen_span(request: HttpRequest, now: datetime) -> Span:
    """The days that the address asks for; a week up to today where it asks for nothing sensible."""
    try:
        last = date.fromisoformat(request.GET.get("until", ""))
    except ValueError:
        last = now.date()
    return ribbons.span(request.GET.get("range", "week"), max(last, date(2010, 1, 1)), now)


@helper_may
@require_safe
def sensor_list(request: HttpRequest) -> HttpResponse:
    """Every sensor with its last value and what is wrong."""
    page = Paginator(Sensor.objects.order_by("retired_on", "name"), LISTED).get_page(request.GET.get("page"))
    context = {"page": page, "glances": glance.glances(list(page), timezone.localtime())}
    return render(request, "husbandry/sensor_list.html", context)


@helper_may
@require_safe
def sensor_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One sensor: its ribbon, its tests, where it hung, its alarms, what was refused of it."""
    sensor = get_object_or_404(Sensor.objects.select_related("device"), pk=pk)
    now = timezone.localtime()
    chosen = chosen_span(request, now)
    tests = list(sensor.calibrations.all()[:SHOWN])
    context = {
        "sensor": sensor,
        "glance": glance.glances([sensor], now)[0],
        "margins": alarms.MARGINS,
        "tests": [(row, corrections.correction_of(row)) for row in tests],
        "postings": sensor.postings.select_related("place", "enclosure")[:SHOWN],
        "alarms": sensor.alarms.all()[:SHOWN],
        "refusals": sensor.refusals.all()[:SHOWN],
        **_drawn([Hanging(sensor)], chosen, now),
    }
    return render(request, "husbandry/sensor_detail.html", context)


def _drawn(hanging: list[Hanging], chosen: Span, now: datetime) -> dict[str, Any]:
    """What a page of ribbons needs."""
    return {
        "ribbons": ribbons.draw(hanging, chosen, now),
        "span": chosen,
        "names": list(ribbons.DAYS),
        "today": now.date(),
        "now": now,
    }


@helper_may
@require_safe
def place_climate(request: HttpRequest, pk: int) -> HttpResponse:
    """A place by the sensors that hung in it, in what stands in it, and in the boxes there."""
    place = get_object_or_404(Place.objects.select_related("parent"), pk=pk)
    here = Posting.objects.under(place)
    return _page(request, here, {"place": place, "title": place.name, "back": place.get_absolute_url()})


@helper_may
@require_safe
def enclosure_climate(request: HttpRequest, pk: int) -> HttpResponse:
    """An enclosure by the sensors that hung in it; without one, by those of its place."""
    enclosure = get_object_or_404(Enclosure.objects.select_related("place"), pk=pk)
    here = Posting.objects.filter(enclosure=enclosure)
    borrowed = not here.exists() and enclosure.place is not None
    if borrowed and enclosure.place is not None:
        here = Posting.objects.filter(place=enclosure.place)
    context = {"title": enclosure.code, "back": enclosure.get_absolute_url(), "borrowed": borrowed}
    return _page(request, here, {"enclosure": enclosure, **context})


def _page(request: HttpRequest, here: Any, context: dict[str, Any]) -> HttpResponse:
    now = timezone.localtime()
    chosen = chosen_span(request, now)
    hung = set(here.values_list("pk", flat=True))
    ever = Posting.objects.filter(sensor__postings__in=hung).select_related("sensor", "place", "enclosure")
    rows = list(ever.distinct().order_by("since", "id"))
    hanging = ribbons.hanging_in(rows, hung, chosen)
    page = Paginator(hanging, PER_PAGE).get_page(request.GET.get("page"))
    context |= _drawn(list(page), chosen, now) | {"page": page}
    return render(request, "husbandry/climate.html", context)


def refused_without_a_sensor() -> Any:
    """What was refused and belongs to no sensor on record."""
    return Refusal.objects.filter(sensor=None).select_related("device")[:SHOWN]
