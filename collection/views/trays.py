"""Which animals a page of many is about, and what such pages read of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from django.db.models import QuerySet
from django.http import HttpRequest

from collection.forms.specimen import RegisterFilter
from collection.models import Molt, Specimen
from collection.querysets import HERE

PER_PAGE = 60  # a tray and a half, within a thumb's patience


def tray_of(request: HttpRequest) -> QuerySet[Specimen]:
    """The animals in the house that the address names: by the register's filters, by clutch, or one by one."""
    found = RegisterFilter(request.GET).narrow(Specimen.objects.for_display()).filter(standing__status__in=HERE)
    if request.GET.get("clutch"):
        found = found.filter(clutch=request.GET["clutch"])
    chosen = [int(pk) for pk in request.GET.getlist("a") if pk.isdecimal() and len(pk) < 10]
    return (found.filter(pk__in=chosen) if chosen else found).order_by("code")


def molts_of(animals: Sequence[Specimen]) -> dict[int, list[Molt]]:
    """The molts of each, oldest first, with one query."""
    found: dict[int, list[Molt]] = defaultdict(list)
    ids = [animal.pk for animal in animals]
    for molt in Molt.objects.filter(specimen__in=ids).order_by("earliest", "id"):
        found[molt.specimen_id].append(molt)
    return found
