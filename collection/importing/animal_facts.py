"""What an animal's row tells beside who it is: sex, sizes, stage, last molt, head count, notes, death or departure."""

from __future__ import annotations

from datetime import date
from typing import Any

from collection.dates import FuzzyDate
from collection.health import Outcome
from collection.importing.drafts import Draft, Job
from collection.importing.molt_facts import MoltsOf, instar_values
from collection.importing.onfile import OnFile, events_of, same_as
from collection.importing.sayings import DEAD, GONE, HERE, MISSING, read_fate
from collection.models import (
    Death,
    Departure,
    GroupCount,
    HealthIssue,
    Measurement,
    Molt,
    Note,
    Quarantine,
    SexEvidence,
    Specimen,
    SpecimenKind,
)
from collection.sexing import Finding, Method
from collection.spreadsheets.cells import Misread
from collection.spreadsheets.counts import CountReading
from collection.spreadsheets.lifestages import StageReading
from collection.spreadsheets.sexes import SexReading
from collection.stages import Group, Stage, stage_label

FROM_LIST = "from the keeper's list"


class Facts:
    """The dated records of the animals in a file, and those that its rows add."""

    def __init__(self, job: Job, on_file: OnFile) -> None:
        self.job = job
        self.on_file = on_file
        ids = on_file.ids
        self.evidence = events_of(SexEvidence, ids)
        self.measures = events_of(Measurement, ids)
        self.molts = events_of(Molt, ids)
        self.counts = events_of(GroupCount, ids)
        self.notes = events_of(Note, ids)
        self.issues = events_of(HealthIssue, ids)
        self.quarantines = events_of(Quarantine, ids)

    def add(self, draft: Draft, specimen: Specimen, values: dict[str, Any], number: CountReading | None) -> None:
        """Everything the row says of the animal."""
        end = self._end(draft, specimen, values)
        if draft.problems:
            return
        draft.ended = draft.ended or (end.latest if end else None)
        if "last_molt" in values and self.on_file.refuse_after_end(draft, specimen, values["last_molt"].earliest):
            return
        words: list[str] = []
        molt = self._molt(draft, specimen, values, words)
        self._sex(draft, specimen, values, number, molt, end)
        self._size(draft, specimen, values, end)
        self._count(draft, specimen, number, end)
        self._note(draft, specimen, values, words, end)

    def _end(self, draft: Draft, specimen: Specimen, values: dict[str, Any]) -> FuzzyDate | None:
        """When its records end: its death or departure, on file or in the row."""
        fate = self._fate(draft, values)
        on_file = self.on_file.deaths.get(specimen.pk) if specimen.pk else None
        if on_file is not None:
            if fate == HERE:
                draft.say("its death is on file and stays")
            return on_file.when
        if fate == DEAD:
            return self._death(draft, specimen, values)
        if fate in {GONE, MISSING}:
            self._departure(draft, specimen, fate)
        return None

    def _fate(self, draft: Draft, values: dict[str, Any]) -> str:
        try:
            fate = read_fate(values["status"]) if "status" in values else ""
        except Misread as problem:
            draft.refuse(f"Status: {problem.sentence}")
            return ""
        if "died" in values and fate == HERE:
            draft.refuse("It is said to be alive, but a date of death is given.")
        return DEAD if "died" in values else fate

    def _death(self, draft: Draft, specimen: Specimen, values: dict[str, Any]) -> FuzzyDate:
        """The day of death; without one, some time between the last thing known of the animal and the list."""
        when: FuzzyDate | None = values.get("died")
        if when is None:
            known = [values[name].earliest for name in ("hatched", "acquired", "last_molt") if name in values]
            known += [values["last_fed"].earliest] if "last_fed" in values else []
            when = FuzzyDate(min(max(known, default=self.job.as_of), self.job.as_of), self.job.as_of)
        when = self._past(when)
        draft.create(Death(specimen=specimen, earliest=when.earliest, latest=when.latest), f"died {when}")
        self._apart_no_more(draft, specimen, when.latest)
        for issue in self.issues.get(specimen.pk or 0, ()):
            if issue.closed_on is None:
                died = {"closed_on": max(when.latest, issue.earliest), "outcome": Outcome.DIED.value}
                draft.change(issue, died)
        return when

    def _apart_no_more(self, draft: Draft, specimen: Specimen, day: date) -> None:
        """Quarantine ends with the animal, as it does when its end is logged on its page."""
        for kept in self.quarantines.get(specimen.pk or 0, ()):
            if kept.ended_on is None:
                draft.change(kept, {"ended_on": max(day, kept.begins), "ended": Quarantine.Ended.GONE.value})

    def _departure(self, draft: Draft, specimen: Specimen, fate: str) -> None:
        kind = Departure.Kind.PASSED_ON if fate == GONE else Departure.Kind.MISSING
        draft.ended = self.job.as_of
        if any(departure.back_on is None for departure in self.on_file.departures.get(specimen.pk or 0, ())):
            return
        note = f"{FROM_LIST}; the day is not known"
        draft.create(Departure(specimen=specimen, kind=kind.value, on=self.job.as_of, note=note), str(kind.label))
        if kind is Departure.Kind.PASSED_ON:
            self._apart_no_more(draft, specimen, self.job.as_of)

    def _past(self, when: FuzzyDate) -> FuzzyDate:
        """A range that is still running ends today."""
        return FuzzyDate(when.earliest, max(when.earliest, min(when.latest, self.job.today)))

    def _molt(self, draft: Draft, specimen: Specimen, values: dict[str, Any], words: list[str]) -> Molt | None:
        """The last molt with the instar after it; an instar without a day of molt is kept in words."""
        instar: StageReading | None = values.get("instar") or values.get("stage")
        if "last_molt" not in values:
            if instar is not None and instar.instar is not None:
                words.append(f"instar by the list: {instar.convention}{instar.instar}")
            return None
        filled = instar_values(instar)
        if _mature_male(values):
            filled["matured"] = True
        molts = MoltsOf(self.molts.get(specimen.pk or 0, []))
        known = draft.known
        molt = molts.write(draft, specimen, self._past(values["last_molt"]), filled)
        draft.known = known  # a molt on file does not make a new animal a known one
        return molt

    def _sex(
        self,
        draft: Draft,
        specimen: Specimen,
        values: dict[str, Any],
        number: CountReading | None,
        molt: Molt | None,
        end: FuzzyDate | None,
    ) -> None:
        reading: SexReading | None = values.get("sex")
        if reading is None or not reading.finding or (number is not None and number.number > 1):
            return
        day = self.job.undated(end)
        finding = Finding(reading.finding)
        self._evidence(draft, specimen, Method.RECORD, finding, FuzzyDate.on(day), reading.confident)
        if _mature_male(values):
            when = molt.when if molt is not None else FuzzyDate.on(day)
            self._evidence(draft, specimen, Method.MATURE_MALE, Finding.MALE, when, reading.confident, molt)

    def _evidence(
        self,
        draft: Draft,
        specimen: Specimen,
        method: Method,
        finding: Finding,
        when: FuzzyDate,
        confident: bool,
        molt: Molt | None = None,
    ) -> None:
        said = {"method": method.value, "finding": finding.value, "confident": confident, "withdrawn": ""}
        if same_as(self.evidence.get(specimen.pk or 0, ()), **said):
            return
        evidence = SexEvidence(
            specimen=specimen, earliest=when.earliest, latest=when.latest, molt=molt, note=FROM_LIST, **said
        )
        doubt = "" if confident else ", unsure"
        draft.create(evidence, f"{finding.value}{doubt} ({method.label})")

    def _size(self, draft: Draft, specimen: Specimen, values: dict[str, Any], end: FuzzyDate | None) -> None:
        found = sizes_of(values, specimen)
        if "mass" in values:
            found["mass_g"] = float(values["mass"])
        stage = _stage_seen(values)
        if stage is not None:
            found["stage_seen"] = stage.value
        if any(isinstance(value, float) and value <= 0 for value in found.values()):
            draft.refuse("Mass: a mass is more than 0 g.")
            return
        if not found or same_as(self.measures.get(specimen.pk or 0, ()), **found):
            return
        when = self._past(values["measured"]) if "measured" in values else FuzzyDate.on(self.job.undated(end))
        group = Group(specimen.taxon.group)
        words = ", ".join(_measured(name, value, group) for name, value in found.items())
        draft.create(Measurement(specimen=specimen, earliest=when.earliest, latest=when.latest, **found), words)

    def _count(self, draft: Draft, specimen: Specimen, number: CountReading | None, end: FuzzyDate | None) -> None:
        if number is None or specimen.kind == SpecimenKind.SINGLE.value:
            return
        known = max(self.counts.get(specimen.pk or 0, []), key=lambda row: (row.latest, row.pk), default=None)
        if known is not None and known.count == number.number:
            return
        day = self.job.undated(end)
        method = "counted" if number.exact else "guessed"
        count = GroupCount(specimen=specimen, earliest=day, latest=day, count=number.number, method=method)
        draft.create(count, f"{specimen.kind} of {number.number}, {method}")

    def _note(
        self, draft: Draft, specimen: Specimen, values: dict[str, Any], words: list[str], end: FuzzyDate | None
    ) -> None:
        sex: SexReading | None = values.get("sex")
        if sex is not None and sex.total > 1 and sex.males + sex.females:
            words.append(f"sexes by the list: {sex.males}.{sex.females}.{sex.unsexed}")
        texts = [values[name] for name in ("notes", "more_notes") if name in values]
        text = "\n".join([*texts, *words])
        if not text or same_as(self.notes.get(specimen.pk or 0, ()), text=text):
            return
        day = self.job.undated(end)
        draft.create(Note(specimen=specimen, earliest=day, latest=day, text=text), "note")


def sizes_of(values: dict[str, Any], specimen: Specimen) -> dict[str, Any]:
    """The sizes of a row by column of a measurement; a plain "size" is the measure that its taxon is measured by."""
    plain = "body_mm" if specimen.taxon.size_measure == "body" else "leg_span_mm"
    columns = {"size": plain, "leg_span": "leg_span_mm", "body_length": "body_mm", "carapace": "carapace_mm"}
    return {column: values[name].mm for name, column in columns.items() if name in values}


def _mature_male(values: dict[str, Any]) -> bool:
    """The row says mature male, in the sex or in the stage."""
    sex, stage = values.get("sex"), values.get("stage")
    return Stage.MATURE_MALE in {sex and sex.stage, stage and stage.stage}


def _stage_seen(values: dict[str, Any]) -> Stage | None:
    """The stage the keeper wrote; a mature male is told by evidence, a culture by its kind."""
    stage, sex = values.get("stage"), values.get("sex")
    seen: Stage | None = (stage and stage.stage) or (sex and sex.stage) or None
    return None if seen in {Stage.MATURE_MALE, Stage.CULTURE} else seen


def _measured(name: str, value: Any, group: Group) -> str:
    if name == "stage_seen":
        return stage_label(group, Stage(value))
    unit, words = ("g", "mass") if name == "mass_g" else ("mm", name.removesuffix("_mm").replace("_", " "))
    return f"{words} {value:g} {unit}"
