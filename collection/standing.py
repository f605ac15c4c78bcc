"""From the events of an animal to what it is now: status, sex, stage, size, next molt. Rows in, derived rows out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, TypeVar

from django.db import models

from collection import instars, molting, skins
from collection.instars import Convention, Count
from collection.models import (
    Death,
    Departure,
    ForecastWidth,
    GroupCount,
    HeadLoss,
    How,
    Measurement,
    Molt,
    SexEvidence,
    SizeMeasure,
    Specimen,
    SpecimenKind,
    Standing,
    Status,
    Taxon,
)
from collection.models.likelihoods import likelihoods_in_force
from collection.sexing import (
    NO_EPIGYNE,
    NO_HOOKS,
    NO_SPERMATHECAE,
    OVERLAP,
    Finding,
    Likelihoods,
    Method,
    NextLook,
    Observation,
    SexVerdict,
    Verdict,
    finding_of_count,
    methods_of_taxon,
    next_looks,
    tell,
    weigh,
)
from collection.stages import Group, Stage, StageFinding, find_stage

M = TypeVar("M", bound=models.Model)
DERIVED = [field.name for field in Standing._meta.concrete_fields if field.name != "specimen"]


class Events:
    """The events of a set of animals, read with one query a kind."""

    def __init__(self, ids: Sequence[int]) -> None:
        self.specimens = list(
            Specimen.objects.filter(pk__in=ids).select_related("taxon").defer("taxon__sources", "taxon__seeded")
        )
        self.likelihoods = likelihoods_in_force()
        self.evidence = _by_animal(SexEvidence.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.molts = _by_animal(Molt.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.measures = _by_animal(Measurement.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.counts = _by_animal(GroupCount.objects.filter(specimen__in=ids).order_by("earliest", "id"))
        self.lost = _by_animal(HeadLoss.objects.filter(specimen__in=ids).order_by("earliest", "id"))
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
            carapace_mm=row.carapace_mm,
            weak=_weak(row, specimen),
        )
        for row in evidence
        if not row.withdrawn
    ]


def verdict_of(specimen: Specimen, likelihoods: Mapping[str, Likelihoods] | None = None) -> SexVerdict:
    """The weighed evidence of one animal, with its reasons."""
    seen = observations(specimen.sex_evidence.order_by("earliest", "id"), specimen)
    return weigh(seen, likelihoods=likelihoods_in_force() if likelihoods is None else likelihoods)


def methods_of(taxon: Taxon) -> list[Method]:
    """What can be looked at in this taxon."""
    group = Group(taxon.group)
    return list(methods_of_taxon(group, family=taxon.family, dimorphism=taxon.dimorphism, no_epigyne=taxon.no_epigyne))


def coming_looks(
    specimen: Specimen, seen: Sequence[Observation], likelihoods: Mapping[str, Likelihoods]
) -> list[NextLook]:
    """What looking once more would tell, by the size now, under a lens; nothing of who is gone."""
    if specimen.standing.status in {Status.DEAD.value, Status.PASSED_ON.value}:
        return []
    spider = specimen.taxon.size_measure == SizeMeasure.LEG_SPAN.value
    size = specimen.standing.size_mm if spider else None
    like = Observation(Method.EXUVIA, Finding.UNCLEAR, size_mm=size, magnified=True)
    return next_looks(seen, methods_of(specimen.taxon), like, likelihoods)


def open_still(verdict: SexVerdict) -> bool:
    """Whether one more look is worth its while: not sure yet, or strong evidence on both sides."""
    return verdict.conflict or verdict.verdict not in {Verdict.FEMALE, Verdict.MALE}


def molt_outlook(
    specimen: Specimen, widened: float | None = None, *, molts: Sequence[Molt] | None = None
) -> molting.MoltOutlook | None:
    """The forecast of one animal's next molt, its windows as much wider as forecasts of molts have had to become."""
    rows = list(specimen.molts.all()) if molts is None else molts
    factor = ForecastWidth.objects.factor("molt") if widened is None else widened
    return _outlook(specimen, rows, Stage(specimen.standing.stage), specimen.standing.size_mm, factor)


def missed_of(specimen: Specimen, molts: Iterable[Molt]) -> list[skins.Missed]:
    """Where the sizes say that molts are missing from the record; what is on record stays as it is."""
    group = Group(specimen.taxon.group)
    series = skins.best_series([molt.as_skin(group) for molt in molts], group)
    return skins.missed_in(series, skins.usual_ratio(group))


EXCEPTIONS = {
    Method.MATURE_MALE: ("hookless", NO_HOOKS),
    Method.EXUVIA: ("no_spermathecae", NO_SPERMATHECAE),
    Method.EPIGYNE: ("no_epigyne", NO_EPIGYNE),
}
SAFE_FROM_INSTAR = 5  # of a mantis: from L5 on the segments are counted by eye


def _exception(row: SexEvidence, specimen: Specimen) -> str:
    """What the taxon lacks that this look would need."""
    method = Method(row.method)
    if method is Method.PECTINES and row.counted and _told(row, specimen) is Finding.UNCLEAR:
        return OVERLAP
    field, word = EXCEPTIONS.get(method, ("", ""))
    return word if field and getattr(specimen.taxon, field) else ""


def _weak(row: SexEvidence, specimen: Specimen) -> bool:
    """Pectines that nothing was compared with; segments of a nymph too small to count them safely."""
    if row.method == Method.PECTINES.value:
        return not row.counted or _told(row, specimen) is None
    return row.method == Method.SEGMENTS.value and row.instar_then is not None and row.instar_then < SAFE_FROM_INSTAR


def _told(row: SexEvidence, specimen: Specimen) -> Finding | None:
    taxon = specimen.taxon
    females = (taxon.pectines_female_min, taxon.pectines_female_max)
    males = (taxon.pectines_male_min, taxon.pectines_male_max)
    return finding_of_count(Method(row.method), row.counted or 1, females, males)


def _by_animal(rows: models.QuerySet[Any]) -> dict[int, list[Any]]:
    grouped: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        grouped[row.specimen_id].append(row)
    return grouped


def _work_out(specimen: Specimen, events: Events) -> Standing:
    """One animal's standing from its events."""
    pk = specimen.pk
    molts, measures = events.molts[pk], events.measures[pk]
    seen = observations(events.evidence[pk], specimen)
    sex = weigh(seen, likelihoods=events.likelihoods)
    mature = _mature_since(molts, events.evidence[pk], sex)
    size = _size(specimen, molts, measures)
    stage = _stage(specimen, molts, measures, size, sex, mature)
    widened = events.molts_widened
    outlook = _outlook(specimen, molts, stage.stage, size, widened) if _single(specimen) else None
    heads = _heads(events.counts[pk], events.lost[pk])
    counted = heads if events.counts[pk] else None
    return Standing(
        specimen=specimen,
        status=_status(specimen, events),
        single=_single(specimen),
        sex=sex.verdict.value,
        sex_probability=sex.probability_female,
        sex_conflict=sex.conflict,
        sex_reason=tell(seen, sex)[:300],
        stage=stage.stage.value,
        stage_reason=stage.reason[:300],
        size_mm=size,
        instar=next((m.instar for m in reversed(molts) if m.instar is not None), None),
        instar_word=_instar_word(specimen, molts, counted)[:120],
        last_molt=max((molt.when.middle for molt in molts), default=None),
        molt_begins=outlook.begins if outlook else None,
        molt_likely=outlook.likely if outlook else None,
        molt_ends=outlook.ends if outlook else None,
        mature_since=mature,
        head_count=heads,
    )


def _outlook(
    specimen: Specimen, molts: Sequence[Molt], stage: Stage, size: float | None, widened: float
) -> molting.MoltOutlook | None:
    """The forecast from dates, size and missing molts."""
    adult = specimen.taxon.adult_size_mm
    missing = {missed.after.skin.record for missed in missed_of(specimen, molts)}
    return molting.outlook(
        Group(specimen.taxon.group),
        stage,
        [molt.when for molt in molts],
        widened,
        part=size / adult if size and adult else None,
        doubtful=[molt.when for molt in molts if molt.pk in missing],
    )


def _instar_word(specimen: Specimen, molts: Sequence[Molt], counted: int | None) -> str:
    """The instar in words: at least so many, unless counted from the sac; of a group, how many are at which."""
    group = Group(specimen.taxon.group)
    if not _single(specimen):
        return _tray_word(group, molts, counted)
    counts = [Count(molt.instar, Convention(molt.numbering)) for molt in molts if molt.instar is not None]
    if not counts:
        return ""
    missed = len(missed_of(specimen, molts))
    bound = instars.at_least(group, counts, bred_here=specimen.how == How.BRED.value, missed=missed)
    return f"{'at least ' if bound else ''}{instars.label(group, counts[-1].number, counts[-1].convention)}"


def _tray_word(group: Group, molts: Sequence[Molt], counted: int | None) -> str:
    """22 at 4i, 8 at 3i; in the convention last used."""
    last = next((molt.numbering for molt in reversed(molts) if molt.instar is not None), None)
    logged = [(m.instar, m.animals) for m in molts if m.numbering == last and m.instar is not None and m.animals]
    if last is None:
        return ""
    found = instars.tray(logged, sum(count for _, count in logged) if counted is None else counted)
    return ", ".join(f"{count} at {instars.label(group, number, Convention(last))}" for number, count in found)


def _heads(counts: list[GroupCount], losses: list[HeadLoss]) -> int:
    """The last count less what died after it; a count of the same day was made afterwards."""
    if not counts:
        return 1
    last = counts[-1]
    return max(last.count - sum(loss.number for loss in losses if loss.earliest > last.earliest), 0)


def _single(specimen: Specimen) -> bool:
    return specimen.kind == SpecimenKind.SINGLE.value


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
    """The latest size in the measure of the taxon's adult size; a shed skin has the size of the day before."""
    field = "body_mm" if specimen.taxon.size_measure == "body" else "leg_span_mm"
    sized = [(row.earliest, getattr(row, field)) for row in measures if getattr(row, field)]
    sized += [
        (molt.earliest - timedelta(days=molt.on_skin), getattr(molt, field)) for molt in molts if getattr(molt, field)
    ]
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
        instar=_step(Group(specimen.taxon.group), molts),
        size_mm=size,
        adult_size_mm=specimen.taxon.adult_size_mm,
        mature_male=mature is not None,
        stage_seen=Stage(seen) if seen else None,
        sex=_sex_word(sex.verdict),
    )


def _step(group: Group, molts: Sequence[Molt]) -> int | None:
    """The last instar as the group counts it; a bare count is a lower bound and says nothing of the stage."""
    last = next((molt for molt in reversed(molts) if molt.instar is not None), None)
    return None if last is None else last.step(group)


def _sex_word(verdict: Verdict) -> str | None:
    if verdict in {Verdict.FEMALE, Verdict.PROBABLY_FEMALE}:
        return "female"
    return "male" if verdict in {Verdict.MALE, Verdict.PROBABLY_MALE} else None
