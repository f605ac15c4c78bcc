"""Places as a tree, enclosures and who stands in them."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection import receipts
from collection.htmx import send_to
from collection.rights import helper_may
from collection.services import Refused
from collection.views.log import sent, written
from husbandry import enclosure_fit, isolation, services, shelves, upkeep_sources
from husbandry.forms.place import EnclosureForm, PlaceForm, UpkeepRhythmForm
from husbandry.models import Enclosure, Place, Stay, Upkeep

PER_PAGE = 60


@helper_may
@require_safe
def place_list(request: HttpRequest) -> HttpResponse:
    """All places in walking order, with how many stand in each."""
    places = Place.objects.in_walking_order().annotate(
        animals=Count("enclosures__stays", filter=Q(enclosures__stays__ends__isnull=True)),
        boxes=Count("enclosures", filter=Q(enclosures__retired_on__isnull=True), distinct=True),
    )
    homeless = Enclosure.objects.in_use().filter(place=None).count()
    return render(request, "husbandry/place_list.html", {"places": list(places), "homeless": homeless})


@helper_may
@require_safe
def place_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One place with its enclosures in walking order and who lives in them."""
    place = get_object_or_404(Place.objects.select_related("parent"), pk=pk)
    enclosures = (
        Enclosure.objects.in_use()
        .filter(place__walk_key__startswith=place.walk_key)
        .in_walking_order()
        .with_occupants(Stay.objects.all())
    )
    page = Paginator(enclosures, PER_PAGE).get_page(request.GET.get("page"))
    marks = isolation.marks([enclosure.pk for enclosure in page.object_list])
    context = {
        "place": place,
        "page": page,
        "shelves": shelves.drawn(list(page), timezone.localdate(), marks),
        "rows": [(enclosure, marks.get(enclosure.pk, [])) for enclosure in page.object_list],
        "mixed": isolation.mixed(place),
        "rounds": upkeep_sources.rounds_of(place),
    }
    return render(request, "husbandry/place_detail.html", context)


@helper_may
@require_safe
def fit(request: HttpRequest) -> HttpResponse:
    """Every animal whose enclosure breaks a rule, with the rule."""
    page = Paginator(enclosure_fit.misfits(), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "husbandry/fit.html", {"page": page, "misfits": enclosure_fit.shown(page)})


@helper_may
@require_safe
def enclosure_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One enclosure: what it is, who lives there and who did, what was done."""
    enclosure = get_object_or_404(Enclosure.objects.select_related("place__parent"), pk=pk)
    stays = enclosure.stays.select_related("specimen__taxon", "specimen__standing")[:PER_PAGE]
    context = {
        "enclosure": enclosure,
        "stays": stays,
        "upkeep": enclosure.upkeep.all()[:PER_PAGE],
        "fits": [(stay.specimen, enclosure_fit.of(stay.specimen, enclosure)) for stay in stays if stay.ends is None],
        "rhythms": upkeep_sources.rhythms_of(enclosure),
        "marks": isolation.marks([enclosure.pk]).get(enclosure.pk, []),
    }
    return render(request, "husbandry/enclosure_detail.html", context)


def _edit(request: HttpRequest, form: forms.BaseForm) -> HttpResponse:
    """Show a form, or write it and go to what it made."""
    if request.method == "POST" and written(form):
        return send_to(request, form.instance.get_absolute_url())  # type: ignore[attr-defined]
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/record_form.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
@receipts.once
def place_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new place, or a changed one."""
    place = get_object_or_404(Place, pk=pk) if pk else Place()
    initial = {"parent": request.GET.get("in")} if pk is None else None
    return _edit(request, PlaceForm(sent(request), instance=place, initial=initial))


@require_http_methods(["GET", "POST"])
@receipts.once
def enclosure_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new enclosure, or a changed one."""
    enclosure = get_object_or_404(Enclosure, pk=pk) if pk else Enclosure()
    initial = {"place": request.GET.get("in")} if pk is None else None
    return _edit(request, EnclosureForm(sent(request), instance=enclosure, initial=initial))


@require_http_methods(["GET", "POST"])
@receipts.once
def place_upkeep(request: HttpRequest, pk: int) -> HttpResponse:
    """How often all that stand in a place are misted, cleaned, looked through."""
    return _edit(request, UpkeepRhythmForm(sent(request), of=get_object_or_404(Place, pk=pk)))


@require_http_methods(["GET", "POST"])
@receipts.once
def enclosure_upkeep(request: HttpRequest, pk: int) -> HttpResponse:
    """How often one enclosure is."""
    return _edit(request, UpkeepRhythmForm(sent(request), of=get_object_or_404(Enclosure, pk=pk)))


@helper_may
@require_POST
@receipts.once
def place_round(request: HttpRequest, pk: int) -> HttpResponse:
    """The same done today in every enclosure of a place."""
    place = get_object_or_404(Place, pk=pk)
    kind = request.POST.get("kind", "")
    if kind not in Upkeep.Kind.values:
        return HttpResponseBadRequest("Say what was done.")
    try:
        services.record_round(place, kind, timezone.localdate())
    except Refused as refusal:
        messages.info(request, str(refusal))
    return send_to(request, place.get_absolute_url())
