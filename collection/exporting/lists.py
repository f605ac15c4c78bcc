"""The bottom app's lists: animals, molts, evidence of sex."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from django.db.models import F

from collection import descents
from collection.dates import FuzzyDate
from collection.exporting import kinds
from collection.exporting.kinds import Export, Row
from collection.models import GroupCount, Molt, Numbering, SexEvidence, SpecimenKind, Status
from collection.models.base import fuzzy
from collection.querysets import SpecimenQuerySet

AT_ONCE = 2000  # rows fetched from the database at a time
FATES = {
    Status.HERE.value: "alive",
    Status.PASSED_ON.value: "passed on",
    Status.DEAD.value: "dead",
    Status.MISSING.value: "missing",
}  # words that an import reads; a loan has none, and stays as it is
ANIMALS = (
    "code", "species", "own name", "count", "stage", "hatched", "acquired", "from", "price", "origin", "locality",
    "dam", "sire", "clutch", "hybrid", "last molt", "status", "died",
    "verdict", "chance of ♀ %", "how grown", "measure mm", "whereabouts", "kept as", "came by", "descent", "tag",
)  # fmt: skip
MOLTS = (
    "code", "taxon", "date", "instar", "leg span (mm)", "carapace (mm)", "body length (mm)", "exuvia kept", "notes",
    "went", "matured", "skin measured", "skin is in", "tag",
)  # fmt: skip
EVIDENCE = (
    "code", "taxon", "date", "looked at", "finding", "sure", "count", "leg span (mm)", "carapace (mm)", "skin intact",
    "with", "who", "skin of", "note", "withdrawn because", "tag",
)  # fmt: skip
INSTARS = {Numbering.I.value: "{}i", Numbering.L.value: "L{}", Numbering.F.value: "FH{}", Numbering.S.value: "N{}"}


def animal_headings() -> Sequence[str]:
    """The columns of the register, and what other apps know of each animal."""
    return [*ANIMALS, *(heading for columns in kinds.added() for heading in columns.headings)]


def animals(found: SpecimenQuerySet) -> Iterator[Row]:
    """One row an animal, in the order of their codes."""
    wanted = found.select_related("taxon", "standing", "acquired_from", "death").annotate(
        dam_code=F("dam__code"), sire_code=F("sire__code")
    )
    stream = iter(wanted.order_by("code").iterator(AT_ONCE))
    while part := list(islice(stream, kinds.IDS_AT_ONCE)):
        ids = [specimen.pk for specimen in part]
        counted = set(GroupCount.objects.filter(specimen__in=ids).values_list("specimen", flat=True))
        molted = _last_molts(ids)
        told = descents.notes(ids)
        extra = [(columns, columns.values(ids)) for columns in kinds.added()]
        for specimen in part:
            others = [values.get(specimen.pk, [None] * len(columns.headings)) for columns, values in extra]
            who = _animal(specimen, specimen.pk in counted, molted.get(specimen.pk), told.get(specimen.pk))
            yield [*who, *(cell for cells in others for cell in cells)]


def _last_molts(ids: Sequence[int]) -> dict[int, FuzzyDate]:
    """The last molt of each, as closely as it is known."""
    rows = Molt.objects.filter(specimen__in=ids, animals=None).order_by("latest", "pk")
    return {pk: FuzzyDate(first, last) for pk, first, last in rows.values_list("specimen", "earliest", "latest")}


def _animal(specimen: Any, counted: bool, molted: FuzzyDate | None, told: str | None) -> list[Any]:
    standing = specimen.standing
    death = getattr(specimen, "death", None)
    single = specimen.kind == SpecimenKind.SINGLE.value
    return [
        specimen.code,
        specimen.taxon.name,
        specimen.name,
        standing.head_count if counted else None,
        "culture" if specimen.kind == SpecimenKind.CULTURE.value else None,
        specimen.hatched,
        specimen.acquired,
        specimen.acquired_from.name if specimen.acquired_from else None,
        specimen.price,
        specimen.origin,
        specimen.locality,
        specimen.dam_code,
        specimen.sire_code,
        specimen.clutch,
        True if specimen.hybrid else None,
        molted,
        FATES.get(standing.status),
        fuzzy(death.earliest, death.latest) if death else None,
        standing.get_sex_display() if single else None,
        round(standing.sex_probability * 100, 1) if single else None,
        standing.stage_word(specimen.taxon.group),
        standing.size_mm,
        standing.get_status_display(),
        specimen.get_kind_display(),
        specimen.get_how_display(),
        told,
        specimen.tag,
    ]


def molts(found: SpecimenQuerySet) -> Iterator[Row]:
    """One row a molt of a single animal, by code and day."""
    rows = Molt.objects.filter(specimen__in=found.values("pk"), animals=None).select_related("specimen__taxon")
    for molt in rows.order_by("specimen__code", "earliest", "pk").iterator(AT_ONCE):
        yield [
            molt.specimen.code,
            molt.specimen.taxon.name,
            molt.when,
            INSTARS.get(molt.numbering, "{}").format(molt.instar) if molt.instar else None,
            molt.leg_span_mm,
            molt.carapace_mm,
            molt.body_mm,
            molt.exuvia_kept,
            molt.exuvia_note,
            molt.get_went_display(),
            molt.matured,
            molt.on_skin,
            molt.exuvia_place,
            molt.specimen.tag,
        ]


def evidence(found: SpecimenQuerySet) -> Iterator[Row]:
    """One row a look, withdrawn ones with their reason."""
    rows = SexEvidence.objects.filter(specimen__in=found.values("pk")).select_related("specimen__taxon", "molt")
    for row in rows.order_by("specimen__code", "earliest", "pk").iterator(AT_ONCE):
        yield [
            row.specimen.code,
            row.specimen.taxon.name,
            row.when,
            row.get_method_display(),
            row.finding,
            row.confident,
            row.counted,
            row.size_mm,
            row.carapace_mm,
            row.intact,
            row.get_lens_display(),
            row.looked_by,
            row.molt.when if row.molt else None,
            row.note,
            row.withdrawn,
            row.specimen.tag,
        ]


_LISTS = (
    Export("animals", "Animals", "One row an animal or group, as it is now.", 10, animal_headings, animals),
    Export("molts", "Molts", "One row a molt of a single animal.", 20, lambda: MOLTS, molts),
    Export("evidence", "Evidence of sex", "One row a look, withdrawn ones too.", 40, lambda: EVIDENCE, evidence),
)
for _one in _LISTS:
    kinds.register(_one)
