"""Sex evidence of a tray: one method, a tap an animal; then what the looks changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from collection import receipts
from collection.forms.looks import ManyLooksForm
from collection.htmx import send_to
from collection.models import Receipt, SexEvidence, Specimen, SpecimenKind, Taxon
from collection.models.likelihoods import likelihoods_in_force
from collection.sexing import Likelihoods, Method, SexVerdict, look_for, methods_for, tapped_by, weigh
from collection.stages import Group
from collection.standing import methods_of, observations
from collection.templatetags.scopula import sexword
from collection.views.log import sent, written
from collection.views.trays import PER_PAGE, molts_of, tray_of

EVIDENCE = "collection.sexevidence"


@require_http_methods(["GET", "POST"])
@receipts.once
def many_looks(request: HttpRequest) -> HttpResponse:
    """Looks at a tray, a shelf or whatever the register's filters leave: one way of looking, one entry for all."""
    found = tray_of(request).filter(kind=SpecimenKind.SINGLE.value)
    groups = _groups(found)
    context: dict[str, Any] = {"groups": groups, "clutch": request.GET.get("clutch", "")}
    if len(groups) != 1:
        return render(request, "collection/looks_many.html", context)
    group = groups[0][0]
    fitting = _taxa_by_method(found, group)
    method = _chosen(request, fitting)
    page = Paginator(found.filter(taxon__in=fitting[method]), PER_PAGE).get_page(request.GET.get("page"))
    form = _form(request, list(page.object_list), method, group)
    if request.method == "POST" and written(form):
        return send_to(request, _onward(request, receipts.current()))
    context |= {"form": form, "page": page, "method": method, "methods": list(fitting), "group": group}
    context |= {"left": found.count() - page.paginator.count, "look_for": _guide(method, group, page)}
    context["moved"] = _moved(request.GET.get("after", ""))
    context["tally"] = _tally(context["moved"])
    return render(request, "collection/looks_many.html", context, status=422 if request.method == "POST" else 200)


def _groups(found: QuerySet[Specimen]) -> list[tuple[Group, int]]:
    """The groups among them with how many there are of each, the most first."""
    rows = found.order_by().values_list("taxon__group").annotate(n=Count("pk")).order_by("-n", "taxon__group")
    return [(Group(group), n) for group, n in rows]


def _taxa_by_method(found: QuerySet[Specimen], group: Group) -> dict[Method, list[int]]:
    """The ways of looking that somebody here has something to show for, the surest first, each with its taxa."""
    taxa = list(Taxon.objects.filter(pk__in=found.order_by().values("taxon")).defer("sources", "seeded"))
    fitting: dict[Method, list[int]] = {}
    for method in tapped_by(methods_for(group)):
        kinds = [taxon.pk for taxon in taxa if method in methods_of(taxon)]
        if kinds:
            fitting[method] = kinds
    return fitting


def _chosen(request: HttpRequest, fitting: dict[Method, list[int]]) -> Method:
    """The way of looking that the address names, where it fits; else the surest that does."""
    named = request.GET.get("method", "")
    return next((method for method in fitting if method.value == named), next(iter(fitting)))


def _form(request: HttpRequest, animals: list[Specimen], method: Method, group: Group) -> ManyLooksForm:
    """The form for these animals; the loupe is the one that was used last."""
    mine = SexEvidence.objects.filter(method=method.value)
    lens = mine.order_by("-pk").values_list("lens", flat=True).first()
    rows = mine.filter(specimen__in=[one.pk for one in animals], withdrawn="").order_by("earliest", "pk")
    seen = {row.specimen_id: row for row in rows}
    return ManyLooksForm(
        sent(request),
        animals=animals,
        method=method,
        group=group,
        molts=molts_of(animals),
        seen=seen,
        lens=lens or "",
    )


def _guide(method: Method, group: Group, page: Any) -> str:
    """What to look for; where all are of one taxon that says how its sexes differ, in its own words."""
    taxa = {animal.taxon for animal in page.object_list}
    if method is Method.DIMORPHISM and len(taxa) == 1:
        return f"In this taxon: {taxa.pop().dimorphism}."
    return look_for(method, group)


def _onward(request: HttpRequest, receipt: Receipt) -> str:
    """The same tray, with what the looks changed on top."""
    query = request.GET.copy()
    query["after"] = str(receipt.pk)
    return f"{request.path}?{query.urlencode()}"


@dataclass(frozen=True)
class Moved:
    """What one animal was taken for before an entry, what the entry made of it, and how its look was read."""

    specimen: Specimen
    before: SexVerdict
    reasons: list[str]

    @property
    def moved(self) -> bool:
        """Whether the verdict is another now."""
        return self.before.verdict.value != self.specimen.standing.sex


def _moved(receipt: str) -> list[Moved]:
    """The verdicts before and after the looks of an entry, those that changed first; nothing once it is taken back."""
    entry = (
        Receipt.objects.filter(pk=int(receipt), undone_at=None).first()
        if receipt.isdecimal() and len(receipt) < 10
        else None
    )
    new = {write["pk"] for write in entry.entries if write["model"] == EVIDENCE} if entry else set()
    looked = Specimen.objects.for_display().filter(sex_evidence__in=new).distinct().order_by("code")
    animals = {animal.pk: animal for animal in looked}
    rows: dict[int, list[SexEvidence]] = {pk: [] for pk in animals}
    for row in SexEvidence.objects.filter(specimen__in=rows, withdrawn="").order_by("earliest", "id"):
        rows[row.specimen_id].append(row)
    table = likelihoods_in_force()
    return sorted((_said(one, rows[pk], new, table) for pk, one in animals.items()), key=lambda said: not said.moved)


def _said(specimen: Specimen, rows: list[SexEvidence], new: set[int], table: Mapping[str, Likelihoods]) -> Moved:
    before = weigh(observations([row for row in rows if row.pk not in new], specimen), likelihoods=table)
    after = weigh(observations(rows, specimen), likelihoods=table)
    return Moved(specimen, before, [one.text for one in after.reasons if rows[one.observation].pk in new])


def _tally(moved: list[Moved]) -> list[tuple[str, int]]:
    """How many are what now, in words."""
    counts = Counter(sexword(one.specimen.standing) for one in moved)
    return counts.most_common()
