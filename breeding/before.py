"""From rows to what is known before a meeting: the readiness of animals, and what bears on the risk of a pair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Case, Max, Q, QuerySet, Value, When
from django.urls import reverse

from breeding import pairings, readiness, risk
from breeding.candidates import CULTURES, FEMALES, MALES, OURS, in_the_way
from breeding.models import Meeting, Pairing, SpermWeb
from breeding.planning import temperament
from breeding.readiness import Condition, FemaleFacts, Held, MaleFacts, Readiness
from breeding.risk import Factor, RiskFacts
from breeding.sacwatch import TaxonRecord
from collection.models import Specimen, SpecimenKind, Status
from collection.sexing import Verdict
from collection.stages import Group, Stage
from husbandry import holds
from husbandry.models import Feeding, Hold, Stay, Upkeep
from husbandry.rhythm import HoldKind, Outcome

NEARLY_GROWN = (Stage.ADULT.value, Stage.MATURE_MALE.value, Stage.SUBADULT.value, Stage.UNKNOWN.value)
PAGES = {"evidence": "collection:specimen-evidence", "pairing": "breeding:sac-watch"}
PANELS = {"molts": "molts", "meals": "meals", "webs": "breeding", "holds": "now"}  # of the animal's own page


@dataclass(frozen=True)
class Told:
    """One condition with the page of its record."""

    condition: Condition
    address: str


@dataclass(frozen=True)
class Row:
    """One animal with its readiness; `planned` are its pairings that wait for their first meeting."""

    specimen: Specimen
    female: bool
    readiness: Readiness
    lacking: list[Told]
    met: list[Told]
    planned: list[Pairing]


def grown(taxon: int | None = None) -> QuerySet[Specimen]:
    """Animals that may be paired now or after one more molt, by taxon, females first."""
    ours = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, standing__status__in=OURS)
    ours = ours.filter(standing__sex__in=(*FEMALES, *MALES), standing__stage__in=NEARLY_GROWN)
    ours = ours.exclude(taxon__group__in=CULTURES)
    if taxon is not None:
        ours = ours.filter(taxon=taxon)
    males_last = Case(When(standing__sex__in=MALES, then=Value(1)), default=Value(0))
    return ours.order_by("taxon__name", males_last, "code")


def rows(animals: QuerySet[Specimen], today: date) -> list[Row]:
    """The readiness of these animals, in their order; as many queries for one as for many."""
    found = list(animals.for_display().prefetch_related("molts"))  # type: ignore[attr-defined]
    known = _Known(found, today)
    return [known.row(one) for one in found]


class _Known:
    """What the records say of some animals, with one query a kind."""

    def __init__(self, animals: Sequence[Specimen], today: date) -> None:
        self.today, ids = today, [one.pk for one in animals]
        self.holds = holds.gather(ids)
        self.held = pairings.inseminations(ids)
        self.records = pairings.taxon_records(
            {one.taxon_id for one in animals if one.standing.sex in FEMALES}, self.today
        )
        eaten = Feeding.objects.filter(specimen__in=ids, outcome=Outcome.TAKEN.value, on__lte=today)
        self.meals = _latest(eaten, "specimen", "on")
        self.webs = _latest(SpermWeb.objects.filter(male__in=ids, latest__lte=today), "male", "latest")
        self.met = _latest(Meeting.objects.filter(pairing__male__in=ids), "pairing__male", "latest")
        self.boxes = dict(Stay.objects.open().filter(specimen__in=ids).values_list("specimen", "enclosure"))
        water = Upkeep.objects.filter(
            enclosure__in=set(self.boxes.values()), kind=Upkeep.Kind.WATER.value, on__lte=today
        )
        self.water = _latest(water, "enclosure", "on")
        cooling = Hold.objects.filter(specimen__in=ids, kind=HoldKind.COOLING.value).order_by("begins")
        self.cooled = {one: (begins, ends) for one, begins, ends in cooling.values_list("specimen", "begins", "ends")}
        self.planned: dict[int, list[Pairing]] = {}
        planned = Pairing.objects.filter(Q(female__in=ids) | Q(male__in=ids), meetings=None, planned_for__isnull=False)
        for pairing in planned.select_related("female", "male"):
            for one in (pairing.female_id, pairing.male_id):
                self.planned.setdefault(one or 0, []).append(pairing)

    def row(self, one: Specimen) -> Row:
        """One animal."""
        female = one.standing.sex in FEMALES
        ready = readiness.of_female(self.female(one)) if female else readiness.of_male(self.male(one))
        lacking, met = ([Told(each, self.address(one, each)) for each in part] for part in (ready.lacking, ready.met))
        return Row(one, female, ready, lacking, met, self.planned.get(one.pk, []))

    def address(self, one: Specimen, condition: Condition) -> str:
        """The page of what a condition rests on."""
        if condition.record == "taxon":
            return one.taxon.get_absolute_url()
        if condition.record == "enclosure" and one.pk in self.boxes:
            return reverse("husbandry:enclosure-detail", args=[self.boxes[one.pk]])
        name = PAGES.get(condition.record)
        panel = PANELS.get(condition.record)
        return reverse(name, args=[one.pk]) if name else one.get_absolute_url() + (f"#{panel}" if panel else "")

    def female(self, one: Specimen) -> FemaleFacts:
        """The facts of a female."""
        taxon, held = one.taxon, self.held.get(one.pk)
        chance, molt = pairings.sac_first(one, self.records.get(one.taxon_id, TaxonRecord()), self.today)
        months = (taxon.sac_months_min, taxon.sac_months_max)
        return FemaleFacts(
            **self._both(one),
            chance=one.standing.sex_probability,
            sac_months=(months[0], months[1]) if months[0] is not None and months[1] is not None else None,
            before_molt=chance if molt is not None else None,
            paired=held.paired.latest if held else None,
        )

    def male(self, one: Specimen) -> MaleFacts:
        """The facts of a male."""
        return MaleFacts(
            **self._both(one),
            chance=1 - one.standing.sex_probability,
            mature_since=one.standing.mature_since,
            web=self.webs.get(one.pk),
            met=self.met.get(one.pk),
        )

    def _both(self, one: Specimen) -> dict[str, Any]:
        standing = one.standing
        held = in_the_way(self.holds.get(one.pk, ()), self.today)
        window = (standing.molt_begins, standing.molt_ends)
        return {
            "today": self.today,
            "group": Group(one.taxon.group),
            "genus": one.taxon.name.partition(" ")[0],
            "sex": Verdict(standing.sex),
            "stage": Stage(standing.stage),
            "last_molt": _come(standing.last_molt, self.today),
            "molt": window if window[0] and window[1] else None,
            "held": tuple(Held(hold.reason.rstrip("."), hold.ends) for hold in held),
            "meal": self.meals.get(one.pk),
            "water": self.water.get(self.boxes.get(one.pk, 0)),
            "cooled": self.cooled.get(one.pk),
            "lent": standing.status == Status.LOAN_OUT.value,
        }


def _come(day: date | None, today: date) -> date | None:
    """The day, unless it lies ahead by a clock that was set back."""
    return None if day is None or day > today else day


def _latest(found: QuerySet[Any], of: str, day: str) -> dict[int, date]:
    return dict(found.order_by().values_list(of).annotate(last=Max(day)))


def factors(pairing: Pairing, today: date) -> list[Factor]:
    """What bears on the risk to the male of this pairing, today."""
    female, male = pairing.female, pairing.male
    meals = Feeding.objects.filter(specimen=female, outcome=Outcome.TAKEN.value, on__lte=today)
    met = Meeting.objects.filter(pairing__female=female).values_list("ending", flat=True)
    endings = list(met)
    facts = RiskFacts(
        group=Group(female.taxon.group),
        temperament=temperament(female.taxon.name, Group(female.taxon.group)),
        days_fed=_days(meals.aggregate(last=Max("on"))["last"], today),
        days_molted=_days(female.standing.last_molt, today),
        her_mm=female.standing.size_mm or None,
        his_mm=(male.standing.size_mm or None) if male else None,
        his_days=_days(male.standing.mature_since or male.standing.last_molt, today) if male else None,
        way_out=pairing.way_out,
        retreat=pairing.retreat,
        attacks=endings.count(Meeting.Ending.ATTACK),
        lost=endings.count(Meeting.Ending.MALE_LOST),
        peaceful=endings.count(Meeting.Ending.PEACE),
    )
    return risk.factors(facts)


def _days(since: date | None, today: date) -> int | None:
    return None if since is None or since > today else (today - since).days
