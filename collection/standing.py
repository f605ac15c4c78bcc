"""From the events of an animal to what it is now: status, sex, stage, size, next molt. Rows in, derived rows out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, TypeVar

from django.db import models

from collection import molting
from collection.models import (
    Death,
    Departure,
    ForecastWidth,
    GroupCount,
    Measurement,
    Molt,
    SexEvidence,
    Specimen,
    SpecimenKind,
    Standing,
    Status,
)
from collection.sexing import Finding, Method, Observation, SexVerdict, Verdict, weigh
from collection.stages import Group, Stage, StageFinding, find_stage

M = TypeVar("M", bound=models.Model)
DERIVED = [field.name for field in Standing._meta.concrete_fields if field.name != "specimen"]


class Events:
    """The events of a set of animals, read with one query a kind."""

    def __init__(self, ids: Sequence[int]) -> None:
        self.specimens = list(
            Specimen.objects.filter(pk__in=ids).select_related("taxon").defer("taxon__sources", "taxon__seeded")
        )
        self.evidence = _by_animal(SexEvidence.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.molts = _by_animal(Molt.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.measures = _by_animal(Measurement.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.counts = _by_animal(GroupCount.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.away = _by_animal(Departure.objects.filter(specimen__in=ids, back_on__isnull=True))
        self.molts_widened = ForecastWidth.objects.factor("molt")
        self.dead = set(Death.objects.filter(specimen__in=ids).values_list("specimen_id", flat=True))


def rebuild(ids: Sequence[int]) -> None:
    """Work out and store the standing of these animals."""
    events = Events(ids)
    Standing.objects.bulk_create(
        [_work_out(specimen, events) for specimen in events.specimens],
        update_conflicts=True,
        unique_fields=["specimen"],
        update_fields=DERIVED,
    )


def observations(evidence: Iterable[SexEvidence], specimen: Specimen) -> list[Observation]:
    """Evidence rows as the plain values that are weighed; withdrawn ones stay out."""
    return [
        Observation(
            method=Method(row.method),
            finding=Finding(row.finding),
            on=row.earliest,
            size_mm=row.size_mm,
            intact=row.intact,
            magnified=row.magnified,
            by=row.looked_by,
            molt=row.molt_id,
            confident=row.confident,
            taxon_exception=_exception(row, specimen),
        )
        for row in evidence
        if not row.withdrawn
    ]


def verdict_of(specimen: Specimen) -> SexVerdict:
    """The weighed evidence of one animal, with its reasons."""
    return weigh(observations(specimen.sex_evidence.order_by("earliest", "id"), specimen))


def molt_outlook(specimen: Specimen, widened: float | None = None) -> molting.MoltOutlook | None:
    """The forecast of one animal's next molt, its windows as much wider as forecasts of molts have had to become."""
    dates = [molt.when for molt in specimen.molts.all()]
    factor = ForecastWidth.objects.factor("molt") if widened is None else widened
    return molting.outlook(Group(specimen.taxon.group), Stage(specimen.standing.stage), dates, factor)


def _exception(row: SexEvidence, specimen: Specimen) -> str:
    if row.method == Method.MATURE_MALE.value and specimen.taxon.hookless:
        return "no hooks"
    if row.method == Method.EXUVIA.value and specimen.taxon.no_spermathecae:
        return "no spermathecae"
    return ""


def _by_animal(rows: models.QuerySet[Any]) -> dict[int, list[Any]]:
    grouped: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        grouped[row.specimen_id].append(row)
    return grouped


def _work_out(specimen: Specimen, events: Events) -> Standing:
    """One animal's standing from its events."""
    pk = specimen.pk
    molts, measures = events.molts[pk], events.measures[pk]
    sex = weigh(observations(events.evidence[pk], specimen))
    mature = _mature_since(molts, events.evidence[pk], sex)
    size = _size(specimen, molts, measures)
    stage = _stage(specimen, molts, measures, size, sex, mature)
    dates = [molt.when for molt in molts]
    widened = events.molts_widened
    outlook = molting.outlook(Group(specimen.taxon.group), stage.stage, dates, widened) if _single(specimen) else None
    return Standing(
        specimen=specimen,
        status=_status(specimen, events),
        single=_single(specimen),
        sex=sex.verdict.value,
        sex_probability=sex.probability_female,
        sex_conflict=sex.conflict,
        sex_reason=_reason(sex),
        stage=stage.stage.value,
        stage_reason=stage.reason[:300],
        size_mm=size,
        instar=next((m.instar for m in reversed(molts) if m.instar is not None), None),
        last_molt=max((d.middle for d in dates), default=None),
        molt_begins=outlook.begins if outlook else None,
        molt_likely=outlook.likely if outlook else None,
        molt_ends=outlook.ends if outlook else None,
        mature_since=mature,
        head_count=events.counts[pk][-1].count if events.counts[pk] else 1,
    )


def _single(specimen: Specimen) -> bool:
    return specimen.kind == SpecimenKind.SINGLE.value


def _reason(sex: SexVerdict) -> str:
    counted = [reason.text for reason in sex.reasons if reason.counted]
    return counted[-1][:300] if counted else ""


def _status(specimen: Specimen, events: Events) -> str:
    if specimen.pk in events.dead:
        return Status.DEAD.value
    away = events.away[specimen.pk]
    if away:
        return str(away[0].kind)
    return Status.LOAN_IN.value if specimen.how == "loan" else Status.HERE.value


def _mature_since(molts: list[Molt], evidence: list[SexEvidence], sex: SexVerdict) -> date | None:
    """Since when he is a mature male: the molt said so, or bulbs and hooks were seen."""
    if sex.verdict in {Verdict.FEMALE, Verdict.PROBABLY_FEMALE}:
        return None
    days = [molt.when.middle for molt in molts if molt.matured]
    days += [
        row.earliest
        for row in evidence
        if row.method == Method.MATURE_MALE.value and row.finding == Finding.MALE.value and not row.withdrawn
    ]
    return min(days, default=None)


def _size(specimen: Specimen, molts: list[Molt], measures: list[Measurement]) -> float | None:
    """The latest size in the measure of the taxon's adult size."""
    field = "body_mm" if specimen.taxon.size_measure == "body" else "leg_span_mm"
    sized = [(row.earliest, getattr(row, field)) for row in measures if getattr(row, field)]
    if field == "leg_span_mm":
        sized += [(molt.earliest, molt.leg_span_mm) for molt in molts if molt.leg_span_mm]
    return max(sized)[1] if sized else None


def _stage(
    specimen: Specimen,
    molts: list[Molt],
    measures: list[Measurement],
    size: float | None,
    sex: SexVerdict,
    mature: date | None,
) -> StageFinding:
    seen = next((row.stage_seen for row in reversed(measures) if row.stage_seen), None)
    return find_stage(
        Group(specimen.taxon.group),
        is_group=not _single(specimen),
        instar=next((_i_number(m) for m in reversed(molts) if m.instar is not None), None),
        size_mm=size,
        adult_size_mm=specimen.taxon.adult_size_mm,
        mature_male=mature is not None,
        stage_seen=Stage(seen) if seen else None,
        sex=_sex_word(sex.verdict),
    )


def _i_number(molt: Molt) -> int | None:
    """The instar as an i-number: L and FH numbers are one lower; a bare count is a lower bound and says nothing."""
    if molt.numbering == "i":
        return molt.instar
    return molt.instar + 1 if molt.numbering == "L" and molt.instar is not None else None


def _sex_word(verdict: Verdict) -> str | None:
    if verdict in {Verdict.FEMALE, Verdict.PROBABLY_FEMALE}:
        return "female"
    return "male" if verdict in {Verdict.MALE, Verdict.PROBABLY_MALE} else None
