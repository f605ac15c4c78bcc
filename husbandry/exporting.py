"""Husbandry's lists: feedings; and what it adds to the list of animals."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.db.models import Max

from collection.exporting import kinds
from collection.exporting.kinds import Export, More, Row
from collection.exporting.lists import AT_ONCE
from collection.models import Specimen
from husbandry.models import Feeding, Stay
from husbandry.models.label import LabelAddress
from husbandry.rhythm import Outcome

_COLUMNS = (
    "specimen__code", "specimen__taxon__name", "on", "prey", "prey_mm", "number", "outcome", "note", "specimen__tag",
)  # fmt: skip
_OUTCOMES = {one.value: one.label for one in Outcome}
FEEDINGS = ("code", "taxon", "date", "prey", "prey size", "how many", "outcome", "notes", "tag")


def feedings(found: Any) -> Iterator[Row]:
    """One row an offer of food, by code and day."""
    rows = Feeding.objects.filter(specimen__in=found.values("pk")).order_by("specimen__code", "on", "pk")
    for row in rows.values_list(*_COLUMNS).iterator(AT_ONCE):  # plain values: there may be hundreds of thousands
        code, taxon, on, prey, prey_mm, number, outcome, note, tag = row
        size = f"{prey_mm:g} mm" if prey_mm else None
        yield [code, taxon, on, prey, size, number, _OUTCOMES[outcome], note, tag]


def kept(ids: Sequence[int]) -> Mapping[int, Row]:
    """Enclosure, where that stands, the last meal, and the address that the label's code leads to."""
    stays = Stay.objects.open().filter(specimen__in=ids).select_related("enclosure__place")
    boxes = {stay.specimen_id: stay.enclosure for stay in stays}
    meals = Feeding.objects.filter(specimen__in=ids, outcome="taken").values_list("specimen").annotate(Max("on"))
    last = dict(meals)
    house = LabelAddress.of_the_house()
    tags = Specimen.objects.filter(pk__in=ids).values_list("pk", "tag")
    return {pk: _kept(boxes.get(pk), last.get(pk), f"{house}/Q/{tag}" if house else None) for pk, tag in tags}


def _kept(box: Any, fed: Any, address: str | None) -> Row:
    place = box.place.name if box is not None and box.place is not None else None
    return [box.code if box is not None else None, place, fed, address]


kinds.add(More("husbandry", 10, ("enclosure", "stands in", "last fed", "label address"), kept))
kinds.register(
    Export("feedings", "Feedings", "One row an offer of food, taken or not.", 30, lambda: FEEDINGS, feedings)
)
