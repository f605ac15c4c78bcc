"""Moving animals on a rack: one tap takes an animal, the next puts it down."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from collection import receipts
from collection.htmx import send_to
from collection.models import Specimen
from collection.services import Refused
from husbandry import services, shelves
from husbandry.models import Enclosure, Place, Stay

PER_PAGE = 120
HOMELESS_SHOWN = 24


@require_safe
def arrange(request: HttpRequest, pk: int) -> HttpResponse:
    """The rack with what stands where; `take` names the animal in hand."""
    return _page(request, get_object_or_404(Place, pk=pk), _taken(request.GET.get("take", "")))


@require_POST
@receipts.once
def put(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the animal in hand into the enclosure that was tapped, today."""
    place = get_object_or_404(Place, pk=pk)
    taken = _taken(request.POST.get("take", ""))
    enclosure = _enclosure(request.POST.get("enclosure", ""))
    if taken is None or enclosure is None:
        return _page(request, place, taken, "Tap the animal first, then the enclosure it goes into.")
    try:
        services.move(taken, enclosure, timezone.localdate())
    except Refused as refusal:
        return _page(request, place, taken, str(refusal))
    return send_to(request, reverse("husbandry:place-arrange", args=[pk]))


def _number(text: str) -> int:
    """A row's number; 0 is nobody's."""
    return int(text) if text.isdecimal() and len(text) < 19 else 0


def _taken(text: str) -> Specimen | None:
    return Specimen.objects.for_display().here().filter(pk=_number(text)).first()


def _enclosure(text: str) -> Enclosure | None:
    return Enclosure.objects.in_use().filter(pk=_number(text)).first()


def _page(request: HttpRequest, place: Place, taken: Specimen | None, refusal: str = "") -> HttpResponse:
    found = Enclosure.objects.in_use().filter(place__walk_key__startswith=place.walk_key)
    found = found.in_walking_order().with_occupants(Stay.objects.all())
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    homeless = Specimen.objects.for_display().here().exclude(Q(stays__isnull=False) & Q(stays__ends__isnull=True))
    context = {
        "place": place,
        "taken": taken,
        "refusal": refusal,
        "page": page,
        "shelves": shelves.drawn(list(page), timezone.localdate()),
        "homeless": list(homeless.order_by("code")[:HOMELESS_SHOWN]),
    }
    return render(request, "husbandry/arrange.html", context, status=422 if refusal else 200)
