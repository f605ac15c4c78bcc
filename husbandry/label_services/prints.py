"""Prints: making a job of what was stored, recording it, and finding labels that carry an old address."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import OuterRef, QuerySet, Subquery

from collection import receipts
from collection.models import Specimen
from husbandry.label_services import contents
from husbandry.labels.calibration import Axis, Calibration
from husbandry.labels.content import Content, Kind, Part
from husbandry.labels.papers import Paper
from husbandry.labels.run import Job
from husbandry.models import Enclosure, LabelAddress, LabelPrint, PrintedLabel, Printer
from husbandry.models.label import ONLY_ROW


@dataclass(frozen=True)
class Subjects:
    """What labels are for: keys of animals or of enclosures, in the order of printing."""

    animals: bool
    ids: list[int]

    def contents(self, today: date) -> dict[int, Content]:
        """What their labels say today."""
        return (contents.of_specimens if self.animals else contents.of_enclosures)(self.ids, today)


def save_address(address: str) -> None:
    """The address that codes carry from now on."""
    row = LabelAddress.objects.filter(pk=ONLY_ROW).first() or LabelAddress(pk=ONLY_ROW)
    if row.address != address:
        row.address = address
        with transaction.atomic():
            row.save()
            receipts.note(f"Labels now carry {address}")


def save_printer(printer: Printer) -> None:
    """A printer and its error."""
    with transaction.atomic():
        printer.save()
        receipts.note(f"Printer {printer.name}")


def record(job: Job, printer: Printer | None, subjects: Subjects, user: User) -> LabelPrint:
    """A print, with every label on it."""
    row = LabelPrint(
        user=user,
        kind=job.kind.value,
        address=job.house,
        paper=job.paper.name,
        printer=printer,
        setup=stored(job),
    )
    with transaction.atomic():
        row.save()
        key = "specimen_id" if subjects.animals else "enclosure_id"
        PrintedLabel.objects.bulk_create([PrintedLabel(run=row, **{key: pk}) for pk in subjects.ids])
        count = len(subjects.ids) * job.copies
        receipts.note(f"{count} label{'s' if count != 1 else ''}: {row}")
    return row


def stored(job: Job) -> dict[str, Any]:
    """A job as plain values."""
    return {**asdict(job), "parts": sorted(job.parts)}


def job_of(row: LabelPrint) -> Job:
    """The job of a print that was made: the same paper, the same address, the same printer's error."""
    kept = row.setup
    axes = {name: Axis(**values) for name, values in kept["calibration"].items()}
    return Job(
        Kind(kept["kind"]),
        Paper(**kept["paper"]),
        kept["house"],
        frozenset(Part(part) for part in kept["parts"]),
        kept["dpi"],
        kept["start"],
        kept["copies"],
        Calibration(**axes),
    )


def subjects_of(row: LabelPrint) -> Subjects:
    """What a print was for."""
    pairs = list(row.labels.values_list("specimen", "enclosure"))
    animals = any(specimen for specimen, _ in pairs)
    return Subjects(animals, [specimen or enclosure for specimen, enclosure in pairs])


def _latest(field: str, column: str) -> Subquery:
    """Something of the last print of an animal or enclosure."""
    return Subquery(PrintedLabel.objects.filter(**{field: OuterRef("pk")}).order_by("-pk").values(column)[:1])


def animals_by_label(only: str, found: QuerySet[Specimen]) -> QuerySet[Specimen]:
    """Narrow animals to those never printed (`new`) or whose label carries an old address (`stale`)."""
    return _by_label(only, found, "specimen")


def enclosures_by_label(only: str, found: QuerySet[Enclosure]) -> QuerySet[Enclosure]:
    """The same for enclosures."""
    return _by_label(only, found, "enclosure")


def _by_label(only: str, found: QuerySet[Any], field: str) -> QuerySet[Any]:
    if only not in {"new", "stale"}:
        return found
    found = found.annotate(printed_address=_latest(field, "run__address"))
    if only == "new":
        return found.filter(printed_address__isnull=True)
    return found.filter(printed_address__isnull=False).exclude(printed_address=LabelAddress.of_the_house())


@dataclass(frozen=True)
class Stale:
    """A label out there whose code leads nowhere any more."""

    subject: Specimen | Enclosure
    address: str
    at: datetime


def stale(most: int) -> tuple[list[Stale], int, int]:
    """Labels in use that carry an old address: the first `most`, and how many there are of animals, of enclosures."""
    found: list[Stale] = []
    counts = []
    kept = (
        ("specimen", Specimen.objects.here().select_related("taxon", "standing")),
        ("enclosure", Enclosure.objects.in_use()),
    )
    for field, rows in kept:
        narrowed = _by_label("stale", rows, field).annotate(printed_at=_latest(field, "run__at"))
        counts.append(narrowed.count())
        found += [Stale(row, row.printed_address, row.printed_at) for row in narrowed[: max(most - len(found), 0)]]
    return found, counts[0], counts[1]
