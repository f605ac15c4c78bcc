"""Taxa: the list, a taxon's page, and the form behind both."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Count, QuerySet
from django.forms import BaseInlineFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from collection import receipts, taxa
from collection.forms.taxa import ListingForm, ListingFormSet, TaxonFilter, TaxonForm
from collection.htmx import send_to, wants_fragment
from collection.models import Listing, Specimen, Taxon
from collection.rights import helper_may, keeper_only
from collection.taxon_figures import figures_of, traits_of
from collection.views.log import written

PER_PAGE = 50
KEPT_SHOWN = 20


@keeper_only
@require_safe
@vary_on_headers("HX-Request")
def taxon_list(request: HttpRequest) -> HttpResponse:
    """All taxa, narrowed by a name or a group, all in the address."""
    form = TaxonFilter(request.GET)
    page = Paginator(_narrowed(form).order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    kept = _kept(taxon.pk for taxon in page.object_list)
    rows = [(taxon, kept.get(taxon.pk, 0)) for taxon in page.object_list]
    template = "collection/taxon_list.html" + ("#taxa" if wants_fragment(request) else "")
    return render(request, template, {"form": form, "page": page, "rows": rows})


def _narrowed(form: TaxonFilter) -> QuerySet[Taxon]:
    form.is_valid()
    data = form.cleaned_data
    found = Taxon.objects.prefetch_related("listings")
    if data.get("q"):
        found = found.named(" ".join(data["q"].split()))
    if data.get("group"):
        found = found.filter(group=data["group"])
    if data.get("kept"):
        found = found.filter(pk__in=Specimen.objects.here().values("taxon"))
    return found


def _kept(ids: Iterable[int]) -> dict[int, int]:
    """How many records are here of each of these taxa."""
    here = Specimen.objects.here().filter(taxon__in=list(ids)).order_by()
    return dict(here.values_list("taxon").annotate(n=Count("pk")))


@helper_may
@require_safe
def taxon_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Its defaults with their sources, its cautions, its listings, and who is kept of it."""
    taxon = get_object_or_404(Taxon.objects.prefetch_related("other_names"), pk=pk)
    here = Specimen.objects.here().filter(taxon=taxon).for_display().order_by("code")
    context = {
        "taxon": taxon,
        "figures": figures_of(taxon),
        "traits": traits_of(taxon),
        "listings": taxon.listings.all(),
        "in_force": {listing.pk for listing in taxa.listing_on(taxon, timezone.localdate())},
        "kept": here[:KEPT_SHOWN],
        "kept_count": here.count(),
    }
    return render(request, "collection/taxon_detail.html", context)


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def taxon_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new taxon, or changed particulars of one."""
    taxon = get_object_or_404(Taxon, pk=pk) if pk else Taxon()
    form = TaxonForm(request.POST or None, instance=taxon)
    listings = ListingFormSet(request.POST or None, instance=taxon)
    if request.method == "POST" and listings.is_valid() and _written(form, listings):
        return send_to(request, taxon.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/taxon_form.html", {"form": form, "listings": listings}, status=status)


def _written(form: TaxonForm, listings: BaseInlineFormSet[Listing, Taxon, ListingForm]) -> bool:
    """The taxon and its listings, both or neither."""
    with transaction.atomic():
        if not written(form):
            return False
        listings.save()
    return True
