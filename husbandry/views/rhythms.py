"""Rhythms for many, and an animal's years of meals."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts
from collection.htmx import send_to
from collection.models import Death, Specimen
from collection.rights import helper_may
from collection.views.log import look_ahead, removed, sent, written
from husbandry import feeding_figures
from husbandry.feeding import FeedFacts, feed_of
from husbandry.forms.rhythms import WideRhythmForm
from husbandry.models import FeedRhythm

PER_PAGE = 60


@require_safe
def rhythm_list(request: HttpRequest) -> HttpResponse:
    """All rhythms of the keeper's own: for places, for taxa, for single animals."""
    rows = FeedRhythm.objects.select_related("place", "taxon", "specimen__taxon", "specimen__standing")
    wide = rows.filter(specimen__isnull=True).order_by("place__walk_key", "taxon__name", "stage", "-since")
    own = rows.filter(specimen__isnull=False).order_by("specimen__code", "-since")
    page = Paginator(own, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "husbandry/rhythm_list.html", {"wide": wide, "page": page})


@require_http_methods(["GET", "POST"])
@receipts.once
def rhythm_wide(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A rhythm for a place or a taxon: what it would do, and storing it."""
    rhythm = get_object_or_404(FeedRhythm, pk=pk, specimen=None) if pk else FeedRhythm()
    initial = None if pk else {name: request.GET.get(name) for name in ("place", "taxon")}
    form = WideRhythmForm(sent(request), instance=rhythm, initial=initial)
    ahead = look_ahead(request, form)
    posted = request.method == "POST" and ahead is None
    if posted and (removed(form, rhythm) if pk and "remove" in request.POST else written(form)):
        return send_to(request, reverse("husbandry:rhythm-list"))
    context = {"form": form, "ahead": ahead}
    return render(request, "husbandry/rhythm_form.html", context, status=422 if posted else 200)


@helper_may
@require_safe
def meal_years(request: HttpRequest, pk: int) -> HttpResponse:
    """Every year of an animal's meals as a strip, with what it came to."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    today = timezone.localdate()
    rows = [(on, outcome == "taken") for on, outcome in specimen.feedings.values_list("on", "outcome")]
    feed = feed_of(specimen, FeedFacts([pk]))
    holds = [(hold.begins, hold.ends) for hold in feed.holds]
    death = Death.objects.filter(specimen=specimen).first()
    years = feeding_figures.years(rows, holds, min(today, death.latest) if death else today)
    context = {"specimen": specimen, "years": years, "meals": sum(taken for _, taken in rows), "alive": death is None}
    return render(request, "husbandry/meal_years.html", context)
