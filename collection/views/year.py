"""A year in review, on the screen and on paper."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts, year_sources, yearbook
from collection.forms.house import HouseForm
from collection.htmx import send_to
from collection.models import House
from collection.models.house import ONLY_ROW
from collection.views.log import sent, written


@require_safe
def year_review(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """What the year brought; without a year the one that runs."""
    today = timezone.localdate()
    chosen = year or today.year
    if not 1900 <= chosen <= today.year:
        raise Http404
    first, last = date(chosen, 1, 1), min(date(chosen, 12, 31), today)
    context = {
        "year": chosen,
        "years": sorted({*year_sources.years(), today.year, chosen}, reverse=True),
        "running": chosen == today.year,
        "sections": yearbook.review(first, last),
        "currency": House.money(),
        "last": last,
    }
    return render(request, "collection/year_review.html", context)


@require_http_methods(["GET", "POST"])
@receipts.once
def currency(request: HttpRequest) -> HttpResponse:
    """What prices are in."""
    house = House.objects.filter(pk=ONLY_ROW).first() or House()
    form = HouseForm(sent(request), instance=house)
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, reverse("collection:year"))
    return render(request, "collection/record_form.html", {"form": form}, status=422 if posted else 200)
