"""Molts from a keeper's list."""

from __future__ import annotations

from typing import Any

from collection.dates import FuzzyDate
from collection.importing import kinds
from collection.importing.animal_facts import FROM_LIST, sizes_of
from collection.importing.drafts import Draft
from collection.importing.kinds import Field, Importer
from collection.importing.molt_facts import MoltsOf, instar_values
from collection.importing.onfile import OnFile, events_of, same_as
from collection.models import Measurement, Molt, SexEvidence, Specimen
from collection.sexing import Finding, Method
from collection.spreadsheets.sexes import SexReading
from collection.stages import Stage


@kinds.owner("molts", "Molts", 20)
class Molts(Importer):
    """One row a molt of an animal on file."""

    fields = (
        Field("code", "Code of the animal", required=True, longest=40),
        Field("date", "Day of the molt", "date", required=True),
        Field("instar", "Instar after it", "stage"),
        Field("size", "Size after it", "size"),
        Field("leg_span", "Leg span after it", "size"),
        Field("body_length", "Body length after it", "size"),
        Field("carapace", "Carapace length after it", "size"),
        Field("exuvia", "Exuvia kept", "yes_no"),
        Field("sex", "Sex seen in it", "sex"),
        Field("notes", "Notes", longest=200),
    )

    def prepare(self, codes: set[str]) -> None:
        """The animals named, with their molts."""
        self.on_file = OnFile(codes)
        on_file = events_of(Molt, self.on_file.ids)
        self.molts = {pk: MoltsOf(on_file.get(pk, [])) for pk in self.on_file.ids}
        self.evidence = events_of(SexEvidence, self.on_file.ids)
        self.measures = events_of(Measurement, self.on_file.ids)

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """The molt, what was measured after it, and what its exuvia told."""
        draft.label = values.get("code", "(no code)")
        specimen = self.on_file.named(draft, values.get("code"))
        when: FuzzyDate | None = values.get("date")
        if when is None and not draft.problems:
            draft.refuse("No day: when was the molt? A month or a year will do.")
        if draft.problems or specimen is None or when is None:
            return
        when = FuzzyDate(when.earliest, max(when.earliest, min(when.latest, self.job.today)))
        if when.earliest > self.job.today:
            draft.refuse(f"{when} lies in the future.")
        if draft.problems or self.on_file.refuse_after_end(draft, specimen, when.earliest):
            return
        self._write(draft, specimen, when, values)

    def _write(self, draft: Draft, specimen: Specimen, when: FuzzyDate, values: dict[str, Any]) -> None:
        draft.specimens = [specimen]
        sizes = sizes_of(values, specimen)
        body = sizes.pop("body_mm", None)
        filled = {**instar_values(values.get("instar")), **sizes}
        filled.update({column: values[name] for name, column in _COLUMNS.items() if name in values})
        if _matured(values.get("sex")):
            filled["matured"] = True
        molt = self.molts[specimen.pk].write(draft, specimen, when, filled)
        if molt is None:
            return
        if body is not None:
            self._measure(draft, specimen, when, body, molt)
        self._sex(draft, specimen, molt, values.get("sex"))

    def _measure(self, draft: Draft, specimen: Specimen, when: FuzzyDate, body: float, molt: Molt) -> None:
        said = {"earliest": when.earliest, "latest": when.latest, "body_mm": body}
        if molt.body_mm != body and not same_as(self.measures.get(specimen.pk, ()), **said):
            draft.create(Measurement(specimen=specimen, **said), f"body length {body:g} mm")

    def _sex(self, draft: Draft, specimen: Specimen, molt: Molt, reading: SexReading | None) -> None:
        if reading is None or not reading.finding:
            return
        method = Method.MATURE_MALE if _matured(reading) else Method.EXUVIA
        said = {"method": method.value, "finding": reading.finding, "confident": reading.confident}
        if draft.known and same_as(self.evidence.get(specimen.pk, ()), molt_id=molt.pk, **said):
            return
        evidence = SexEvidence(
            specimen=specimen,
            earliest=molt.earliest,
            latest=molt.latest,
            molt=molt,
            size_mm=molt.leg_span_mm,
            note=FROM_LIST,
            **said,
        )
        draft.create(evidence, f"{Finding(reading.finding).label} ({method.label})")


_COLUMNS = {"exuvia": "exuvia_kept", "notes": "exuvia_note"}


def _matured(reading: SexReading | None) -> bool:
    return reading is not None and reading.stage is Stage.MATURE_MALE
