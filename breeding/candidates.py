"""Who may be paired: females and males with what stands in the way of each, by the records and for one day.

Readiness in full (feeding, water, season) is told elsewhere; a plan asks here only for what rules an animal out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from breeding import pairings
from breeding.models import Pairing, SpermWeb
from breeding.readiness import CLOCKED, LATE_DAYS, REST_DAYS
from collection.dates import say_date
from collection.models import Specimen, SpecimenKind, Standing, Status
from collection.sexing import Verdict
from collection.stages import Group, Stage
from husbandry import holds
from husbandry.rhythm import Hold, HoldKind

FEMALES = (Verdict.FEMALE.value, Verdict.PROBABLY_FEMALE.value)
MALES = (Verdict.MALE.value, Verdict.PROBABLY_MALE.value)
OURS = (Status.HERE.value, Status.LOAN_IN.value, Status.LOAN_OUT.value)
CULTURES = {Group.ISOPOD.value, Group.ROACH.value}
IN_THE_WAY = {
    HoldKind.HARDENING, HoldKind.SAC, HoldKind.BROOD, HoldKind.EXPECTING, HoldKind.ILLNESS, HoldKind.PREMOLT,
    HoldKind.ARRIVAL,
}  # fmt: skip
MOST_FEMALES = 80  # of a plan without a taxon


@dataclass
class Candidate:
    """An animal that could be in a plan, and each reason why it cannot be."""

    specimen: Specimen
    female: bool
    lent: bool = False  # away on loan; the keeper may ask to have it back
    reasons: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def ready(self) -> bool:
        """Nothing stands in the way."""
        return not self.reasons

    @property
    def line(self) -> tuple[int, str]:
        """Its taxon and locality: only animals of one line are paired."""
        return self.specimen.taxon_id, self.specimen.locality.strip().casefold()


def candidates(day: date, chosen: Collection[int] = (), called_home: Sequence[int] = ()) -> list[Candidate]:
    """Grown animals of both sexes in taxa of which there is a male that is or was mature; females first, by code."""
    ours = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, standing__status__in=OURS)
    ours = ours.exclude(taxon__group__in=CULTURES)
    if chosen:
        ours = ours.filter(taxon__in=chosen)
    males = ours.filter(standing__sex__in=MALES, standing__stage__in=(Stage.MATURE_MALE.value, Stage.ADULT.value))
    taxa = set(males.values_list("taxon_id", flat=True))
    females = ours.filter(standing__sex__in=FEMALES, taxon__in=taxa).order_by("taxon__name", "code")
    found = list(females.for_display().prefetch_related("molts")[:MOST_FEMALES])
    grown_males = list(males.for_display().order_by("taxon__name", "code"))
    known = _Known([one.pk for one in (*found, *grown_males)], day)
    rows = [_female(one, known) for one in found] + [_male(one, known) for one in grown_males]
    for row in rows:
        _loans(row, row.specimen.pk in called_home)
    return rows


class _Known:
    """What the records say of all candidates, with one query a kind."""

    def __init__(self, ids: Sequence[int], day: date) -> None:
        self.day = day
        self.holds = holds.gather(ids)
        self.inseminations = pairings.inseminations(ids)
        self.webs: dict[int, date] = {}
        for male, latest in SpermWeb.objects.filter(male__in=ids).order_by("latest").values_list("male_id", "latest"):
            self.webs[male] = latest
        self.planned: dict[int, list[str]] = defaultdict(list)
        planned = Pairing.objects.filter(female__in=ids, meetings__isnull=True, planned_for__isnull=False)
        for pairing in planned.select_related("female", "male"):
            self.planned[pairing.female_id].append(f"planned with {pairing.male or 'an unknown male'} already")


def _female(specimen: Specimen, known: _Known) -> Candidate:
    row = Candidate(specimen, female=True)
    standing = specimen.standing
    held = known.inseminations.get(specimen.pk)
    if standing.stage not in {Stage.ADULT.value, Stage.UNKNOWN.value}:
        row.reasons.append(f"not mature: {standing.stage_word(specimen.taxon.group)}")
    elif standing.stage == Stage.UNKNOWN.value and held is None:
        row.reasons.append("not known to be mature; a size or a stage would tell")
    row.reasons += _held(specimen.pk, known)
    if held is not None:
        row.reasons.append(f"paired {say_date(held.paired, known.day)} and not molted since")
    row.notes += known.planned[specimen.pk]
    return row


def _male(specimen: Specimen, known: _Known) -> Candidate:
    row = Candidate(specimen, female=False)
    since, web = specimen.standing.mature_since, known.webs.get(specimen.pk)
    row.reasons += _held(specimen.pk, known)
    if Group(specimen.taxon.group) in CLOCKED:
        if specimen.standing.stage != Stage.MATURE_MALE.value:
            row.reasons.append("not mature: no hooks, no bulbs on record")
        if since is not None and known.day - since > timedelta(days=LATE_DAYS):
            row.reasons.append(f"spent: mature since {say_date(since, known.day)}, more than ten months")
        rested = since is None or known.day - since >= timedelta(days=REST_DAYS)
        if since is not None and not rested and (web is None or web < since):
            row.reasons.append(f"molted to maturity {say_date(since, known.day)}; he rests two weeks first")
        row.notes.append(f"last sperm web {say_date(web, known.day)}" if web else "no sperm web on record")
    return row


def in_the_way(held: Sequence[Hold], day: date) -> list[Hold]:
    """Holds of that day that a pairing must wait for as well."""
    return [hold for hold in held if hold.kind in IN_THE_WAY and hold.covers(day)]


def _held(pk: int, known: _Known) -> list[str]:
    return [
        f"{hold.reason[:1].lower()}{hold.reason[1:].rstrip('.')}"
        + (f", until {say_date(hold.ends, known.day)}" if hold.ends else "")
        for hold in in_the_way(known.holds.get(pk, ()), known.day)
    ]


def _loans(row: Candidate, called_home: bool) -> None:
    standing: Standing = row.specimen.standing
    if standing.status == Status.LOAN_OUT.value:
        row.lent = True
        if called_home:
            row.notes.append("on loan elsewhere; asked to come home for it")
        else:
            row.reasons.append("on loan elsewhere")
    elif standing.status == Status.LOAN_IN.value:
        row.notes.append("on loan here: agree on the risk with the owner")


def taxa_with_males() -> list[tuple[int, str]]:
    """Taxa of which a grown male and a female are kept, by name."""
    ours = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, standing__status__in=OURS)
    males = ours.filter(standing__sex__in=MALES, standing__stage__in=(Stage.MATURE_MALE.value, Stage.ADULT.value))
    females = ours.filter(standing__sex__in=FEMALES, taxon__in=males.values("taxon")).exclude(taxon__group__in=CULTURES)
    return list(females.order_by("taxon__name").values_list("taxon", "taxon__name").distinct())
