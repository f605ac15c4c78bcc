"""Views of kin: an animal's pedigree, the relation of any two, the founders of a line, the possible sires of a sac."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from breeding import kin, lines, pedigree_chart
from breeding.forms_kin import PickTwo, SiresForm
from breeding.kin import Family
from breeding.kinship.words import as_fraction, say_inbreeding
from breeding.pedigree_chart import Box
from breeding.relations import Relation, relation
from collection import receipts
from collection.htmx import send_to
from collection.models import Specimen, Taxon
from collection.views.log import sent, written

PER_PAGE = 25
MATES = 12


@dataclass(frozen=True)
class Placed:
    """A box of the drawing with the animal that stands in it."""

    box: Box
    specimen: Specimen | None
    inbreeding: float
    words: str  # what an unknown one is called


@dataclass(frozen=True)
class Kinship:
    """Two animals, how they are related in words, and in a number."""

    a: Specimen
    b: Specimen
    relation: Relation
    value: float

    @property
    def fraction(self) -> str:
        """1/8, where it is one."""
        return as_fraction(self.value)

    @property
    def young(self) -> str:
        """What young of the two would be."""
        return say_inbreeding(self.value)


@require_safe
def of_one(request: HttpRequest, pk: int) -> HttpResponse:
    """An animal's pedigree, sac-mates, young, and its relation with any other."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    family = kin.family([pk])
    inbreeding = family.pedigree.inbreeding()
    chart = pedigree_chart.layout({one: (row.dam, row.sire) for one, row in family.rows.items()}, pk)
    form = PickTwo(request.GET or None, first=specimen)
    mates = kin.mates_of(specimen).for_display()
    context = {
        "specimen": specimen,
        "row": family.rows[pk],
        "inbreeding": inbreeding[pk],
        "words": say_inbreeding(inbreeding[pk]),
        "generations": family.pedigree.generations()[pk],
        "chart": chart,
        "placed": _placed(chart.boxes, family, inbreeding),
        "possible": specimen.possible_sires.select_related("male__taxon", "male__standing"),
        "mates": mates[:MATES],
        "mates_left": max(mates.count() - MATES, 0),
        "broods": _broods(pk),
        "form": form,
        "kinship": _kinship(*form.pair()) if request.GET and form.is_valid() else None,
    }
    return render(request, "breeding/specimen_kin.html", context)


def _placed(boxes: list[Box], family: Family, inbreeding: dict[Any, float]) -> list[Placed]:
    known = Specimen.objects.for_display().in_bulk([box.id for box in boxes if box.id is not None])
    return [Placed(box, known.get(box.id), inbreeding.get(box.id, 0.0), f"{box.role} not known") for box in boxes]


def _broods(pk: int) -> list[Any]:
    """Young by sac and other parent, with how many of them are still here."""
    young = Specimen.objects.filter(Q(dam=pk) | Q(sire=pk))
    counted = young.values("clutch", "dam", "dam__code", "sire", "sire__code").annotate(
        young=Count("pk"), here=Count("pk", filter=Q(standing__status__in=("here", "loan_in")))
    )
    return list(counted.order_by("-clutch", "dam__code", "sire__code")[:PER_PAGE])


def _kinship(a: Specimen, b: Specimen) -> Kinship:
    family = kin.family([a.pk, b.pk])
    return Kinship(a, b, relation(family.relatives, a.pk, b.pk), family.pedigree.kinship(a.pk, b.pk))


@require_safe
def any_two(request: HttpRequest) -> HttpResponse:
    """The relation of any two animals, and all lines of the house."""
    form = PickTwo(request.GET if "first" in request.GET or "other" in request.GET else None)
    page = Paginator(lines.known_lines(), PER_PAGE).get_page(request.GET.get("page"))
    taxa = Taxon.objects.in_bulk([row["taxon"] for row in page])
    context = {
        "form": form,
        "kinship": _kinship(*form.pair()) if form.is_bound and form.is_valid() else None,
        "page": page,
        "lines": [(taxa[row["taxon"]], row) for row in page],
    }
    return render(request, "breeding/kin.html", context)


@require_safe
def line(request: HttpRequest, pk: int) -> HttpResponse:
    """One line: founders, gene diversity, and who is related least to all the others."""
    taxon = get_object_or_404(Taxon, pk=pk)
    locality = request.GET.get("locality", "")
    found = lines.living(taxon, locality)
    number = found.count()
    animals = list(found.for_display()[: lines.MOST]) if number else []
    known = lines.work_out(animals) if animals else None
    page = Paginator(known.animals if known else [], PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "taxon": taxon,
        "locality": locality,
        "number": number,
        "most": lines.MOST if number > lines.MOST else 0,
        "line": known,
        "page": page,
        "founders": known.founders[:PER_PAGE] if known else [],
    }
    return render(request, "breeding/line.html", context)


@require_http_methods(["GET", "POST"])
@receipts.once
def sires(request: HttpRequest, pk: int) -> HttpResponse:
    """The males that may be the sire of an animal and its sac-mates."""
    specimen = get_object_or_404(Specimen.objects.for_display().select_related("sire"), pk=pk)
    form = SiresForm(sent(request), specimen=specimen)
    if request.method == "POST" and written(form):
        return send_to(request, reverse("breeding:specimen-kin", args=[pk]))
    context = {"form": form, "specimen": specimen, "action": request.path}
    context["back"] = reverse("breeding:specimen-kin", args=[pk])
    return render(request, "collection/log_form.html", context, status=422 if request.method == "POST" else 200)
