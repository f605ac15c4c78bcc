"""How one animal grows, and the molts of many at once."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts
from collection.forms.molts_many import ManyMoltsForm
from collection.growing import growth_figure, growth_of, measured_in, molt_rows, premolt_of, strip_of
from collection.htmx import send_to
from collection.models import Molt, Specimen, SpecimenKind
from collection.molting import expected
from collection.rights import helper_may
from collection.specimen_panels import MOLTLESS, counted_only
from collection.views.log import sent, written
from collection.views.trays import PER_PAGE, molts_of, tray_of


@helper_may
@require_safe
def specimen_growth(request: HttpRequest, pk: int) -> HttpResponse:
    """Size against time, what comes next, what was left out and why, and its place among its kind."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    today = timezone.localdate()
    growth = growth_of(specimen, today)
    figure = growth_figure(growth.molts, growth.series.measure, growth.group, today, growth.outlook, growth.next_size)
    columns = measured_in(growth.molts, growth.group, growth.series.measure)
    context = {
        "specimen": specimen,
        "today": today,
        "growth": growth,
        "figure": figure,
        "strip": strip_of(growth, figure, today) if figure else (),
        "measures": columns,
        "rows": molt_rows(growth.molts[::-1], growth.group, list(columns)),
        "limits": growth.fit.ratio_limits(0.95),
        "rest": expected(growth.outlook, today) if growth.outlook else None,
        "counted_only": counted_only(specimen),
        "premolt": premolt_of(specimen, growth.outlook, today),
    }
    return render(request, "collection/specimen_growth.html", context)


@helper_may
@require_http_methods(["GET", "POST"])
@receipts.once
def many_molts(request: HttpRequest) -> HttpResponse:
    """The molts of a tray, a shelf or whatever the register's filters leave: a tap each, one entry for all."""
    page = Paginator(_molting(request), PER_PAGE).get_page(request.GET.get("page"))
    animals = list(page.object_list)
    form = ManyMoltsForm(sent(request), animals=animals, last=_last_molts(animals))
    if request.method == "POST" and written(form):
        return send_to(request, request.get_full_path())
    context: dict[str, Any] = {"form": form, "page": page, "clutch": request.GET.get("clutch", "")}
    return render(request, "collection/molts_many.html", context, status=422 if request.method == "POST" else 200)


def _molting(request: HttpRequest) -> QuerySet[Specimen]:
    """Those of the tray that can molt: no culture, no mature male."""
    found = tray_of(request).exclude(taxon__group__in=[group.value for group in MOLTLESS])
    return found.exclude(kind=SpecimenKind.CULTURE.value).exclude(standing__mature_since__isnull=False)


def _last_molts(animals: list[Specimen]) -> dict[int, Molt]:
    """The last molt of each, with the last instar that was said."""
    last: dict[int, Molt] = {}
    for pk, molts in molts_of(animals).items():
        last[pk] = molts[-1]
        told = next((molt for molt in reversed(molts) if molt.instar is not None), molts[-1])
        last[pk].instar, last[pk].numbering = told.instar, told.numbering
    return last
