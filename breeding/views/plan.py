"""The pairing plan: looked at, changed by links, and made into planned pairings."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from breeding import before, candidates, plans, wishes
from breeding.models import Pairing
from breeding.planning import Aim
from collection import receipts
from collection.htmx import send_to
from collection.models import Specimen
from collection.services import Refused

PER_PAGE = 24


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Females and males by taxon: what is met, what is missing, and how much time is left."""
    asked = request.GET.get("taxon", "")
    taxon = int(asked) if asked.isdecimal() and len(asked) < 19 else None
    page = Paginator(before.grown(taxon), PER_PAGE).get_page(request.GET.get("page"))
    shown = Specimen.objects.filter(pk__in=[one.pk for one in page.object_list])
    order = [one.pk for one in page.object_list]
    rows = sorted(before.rows(shown, timezone.localdate()), key=lambda row: order.index(row.specimen.pk))
    kept = before.grown().order_by("taxon__name").values_list("taxon", "taxon__name").distinct()
    return render(request, "breeding/readiness.html", {"page": page, "rows": rows, "taxa": kept, "taxon": taxon})


@require_safe
def plan(request: HttpRequest) -> HttpResponse:
    """Who with whom, for the best expected result, and why."""
    wish = wishes.read(dict(request.GET.lists()), timezone.localdate())
    known = plans.build(wish)
    planned = Pairing.objects.filter(planned_for__isnull=False, meetings__isnull=True)
    context = {
        "plan": known,
        "wish": wish,
        "aims": list(Aim),
        "taxa": candidates.taxa_with_males(),
        "most": candidates.MOST_FEMALES,
        "planned": planned.for_display()[:25],
    }
    return render(request, "breeding/plan.html", context)


@require_POST
@receipts.once
def keep(request: HttpRequest) -> HttpResponse:
    """Make the pairs that were shown into planned pairings."""
    wish = wishes.read(dict(request.POST.lists()), timezone.localdate())
    back = reverse("breeding:plan") + wish.query()
    shown = sorted(wishes.read({"fix": request.POST.getlist("pair")}, wish.today).fixed)
    animals = Specimen.objects.for_display().in_bulk([one for pair in shown for one in pair])
    pairs = [(animals[f], animals[m]) for f, m in shown if f in animals and m in animals]
    try:
        plans.keep(pairs, wish.day)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return send_to(request, back)
    return send_to(request, reverse("breeding:plan"))
