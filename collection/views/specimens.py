"""The register, an animal's page, and its particulars."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from collection import attention, dues, panels, receipts, traces
from collection.forms.specimen import RegisterFilter, SpecimenForm
from collection.htmx import send_to, wants_fragment
from collection.models import Due, Specimen, SpecimenKind
from collection.rights import helper_may, is_keeper, open_to_helpers
from collection.specimen_panels import is_counted
from collection.views.log import sent, written

PER_PAGE = 50
HISTORY_PER_PAGE = 100
SORTS = {
    "code": ("code",),
    "taxon": ("taxon__name", "code"),
    "sex": ("standing__sex", "code"),
    "size": ("-standing__size_mm", "code"),
    "molt": ("-standing__last_molt", "code"),
    "since": ("-acquired_earliest", "code"),
}


@require_safe
@vary_on_headers("HX-Request")
def specimen_list(request: HttpRequest) -> HttpResponse:
    """The register: filters, sort and pages, all in the address."""
    form = RegisterFilter(request.GET)
    found = form.narrow(Specimen.objects.for_display())
    sort = request.GET.get("sort", "code")
    pages = Paginator(found.order_by(*SORTS.get(sort, SORTS["code"])), PER_PAGE)
    if form.only_standing():
        pages.count = form.standings().count()
    page = pages.get_page(request.GET.get("page"))
    ids = [specimen.pk for specimen in page.object_list]
    columns = panels.in_order(panels.columns)
    cells = {column.name: column.values(ids) for column in columns}
    rows = [(specimen, [(c, cells[c.name].get(specimen.pk, "")) for c in columns]) for specimen in page.object_list]
    context = {"form": form, "page": page, "rows": rows, "columns": columns, "sort": sort, "sorts": SORTS}
    context["onward"] = [(page.label, page.from_list(request.GET.urlencode())) for page in panels.onwards.values()]
    template = "collection/specimen_list.html" + ("#register" if wants_fragment(request) else "")
    return render(request, template, context)


@helper_may
@require_safe
def specimen_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Who it is and how sure we are, what is due, and the panels."""
    every = Specimen.objects.for_display().select_related("dam", "sire", "acquired_from")
    specimen = get_object_or_404(every.prefetch_related("taxon__listings"), pk=pk)
    with traces.of_one(pk):
        return render(request, "collection/specimen_detail.html", _page_of(specimen, request))


def _page_of(specimen: Specimen, request: HttpRequest) -> dict[str, Any]:
    """Everything that the page of one animal shows."""
    today, pk = timezone.localdate(), specimen.pk
    shown = [(kind, kind.build(specimen, today)) for kind in panels.kinds()]
    gone = traces.some([pk], specimen.departures.filter(back_on__isnull=True).select_related("contact"))
    return {
        "specimen": specimen,
        "today": today,
        "said": said_of(specimen, today),
        "heads": [text for c in panels.in_order(panels.columns) if c.in_head and (text := c.values([pk]).get(pk))],
        "states": [panel.head for _, panel in shown if panel is not None and panel.head],
        "panels": [(kind, panel) for kind, panel in shown if panel is not None],
        "forms": [
            form
            for form in panels.forms_for(specimen)
            if is_keeper(request.user) or open_to_helpers(form.url_name, specimen.pk)
        ],
        "listings": specimen.taxon.listings.all(),
        "onward": [(page.label, page.from_one(specimen)) for page in panels.onwards.values()],
        "gone": gone.first(),
        "counted": specimen.kind != SpecimenKind.SINGLE.value and is_counted(specimen),
    }


def said_of(specimen: Specimen, today: Any) -> list[tuple[str, attention.Said]]:
    """All reasons why this animal needs the keeper today, by kind."""
    rows = {due.kind: due for due in Due.objects.filter(specimen=specimen).wanted(today)}
    return [
        (kind.name, attention.said(kind, dues.as_stored(rows[kind.name]), today))
        for kind in attention.kinds()
        if kind.name in rows
    ]


@require_safe
def specimen_history(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything, dated, paged."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    page = Paginator(panels.history(specimen), HISTORY_PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "collection/specimen_history.html", {"specimen": specimen, "page": page})


@require_http_methods(["GET", "POST"])
@receipts.once
def specimen_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new animal, or changed particulars."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk) if pk else Specimen()
    form = SpecimenForm(sent(request), instance=specimen)
    if request.method == "POST" and written(form):
        return send_to(request, form.instance.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/record_form.html", {"form": form}, status=status)
