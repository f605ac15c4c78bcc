"""What the collection holds already of the animals that a file names, read with a handful of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any, TypeVar

from django.db import models

from collection.dues import chunks
from collection.importing.drafts import Draft
from collection.models import Contact, Death, Departure, Specimen, Standing, Taxon

M = TypeVar("M", bound=models.Model)


def events_of(model: type[M], ids: Iterable[int], of: str = "specimen_id") -> dict[int, list[M]]:
    """Rows of one model by animal, oldest first."""
    found: dict[int, list[M]] = defaultdict(list)
    for part in chunks(ids):
        for row in model._default_manager.filter(**{f"{of}__in": part}).order_by("pk"):
            found[getattr(row, of)].append(row)
    return found


class OnFile:
    """The animals on file by code, whatever its case, and when each of them died or left for good."""

    def __init__(self, codes: set[str]) -> None:
        keys = {
            pk: code.casefold()
            for pk, code in Specimen.objects.values_list("pk", "code").iterator()
            if code.casefold() in codes
        }
        self.ids = list(keys)
        self._by_code: dict[str, Specimen] = {}
        # Not select_related: that makes a taxon of forty columns for each of 20,000 animals (160 MB).
        taxa, contacts = Taxon.objects.in_bulk(), Contact.objects.in_bulk()
        for part in chunks(keys):
            for specimen in Specimen.objects.filter(pk__in=part):
                specimen.taxon = taxa[specimen.taxon_id]
                if specimen.acquired_from_id is not None:
                    specimen.acquired_from = contacts[specimen.acquired_from_id]
                self._by_code[specimen.code] = specimen
                self._by_code.setdefault(specimen.code.casefold(), specimen)
        self.deaths = {death.specimen_id: death for rows in events_of(Death, self.ids).values() for death in rows}
        self.departures = events_of(Departure, self.ids)

    def find(self, code: str) -> Specimen | None:
        """The animal with this code; the exact spelling goes before another case."""
        return self._by_code.get(code) or self._by_code.get(code.casefold())

    def read_standing(self) -> None:
        """What each of the animals is now, for rules that ask for it."""
        by_pk = {specimen.pk: specimen for specimen in self._by_code.values()}
        for part in chunks(by_pk):
            for standing in Standing.objects.filter(specimen__in=part):
                standing.specimen = by_pk[standing.specimen_id]

    def named(self, draft: Draft, code: str | None) -> Specimen | None:
        """The animal that a row is about; a missing or unknown code refuses the row."""
        if code is None:
            draft.refuse("No code: which animal is this row about?")
            return None
        specimen = self.find(code)
        if specimen is None:
            draft.refuse(f"No animal has the code {code}. Import the animals first, or mend the code.")
        return specimen

    def refuse_after_end(self, draft: Draft, specimen: Specimen, day: date) -> bool:
        """Nothing happens to an animal after it died or was passed on."""
        death = self.deaths.get(specimen.pk)
        if death is not None and day > death.latest:
            draft.refuse(f"{specimen.code} died on {death.when}; {day} lies after it.")
            return True
        for departure in self.departures.get(specimen.pk, ()):
            if departure.kind == Departure.Kind.PASSED_ON.value and day > departure.on:
                draft.refuse(f"{specimen.code} was passed on on {departure.on}; {day} lies after it.")
                return True
        return False


def same_as(records: Iterable[M], **values: Any) -> M | None:
    """The first of the records that has all these values."""
    for record in records:
        if all(getattr(record, name) == value for name, value in values.items()):
            return record
    return None
