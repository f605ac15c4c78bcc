"""What this collection knows of raising young: who of a brood is here, and how many lived to an age."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from collection import lives
from collection.lives import Asked
from collection.models import Specimen, SpecimenKind, Standing, Taxon
from collection.sexing import chance_among
from collection.survival import kaplan_meier

MONTH_DAYS = 365.25 / 12
FEWEST_YOUNG, FEWEST_LEFT = 12, 5  # assumption: of fewer, a share says more of chance than of care


@dataclass(frozen=True)
class Raised:
    """The share of young that lived to an age, with limits of 95 %, how many it rests on, and how many died."""

    share: float
    low: float
    high: float
    young: int
    died: int


@dataclass(frozen=True)
class Brood:
    """The sibs that are here, by verdict, and the chance that they hold a pair that lives to be used."""

    animals: list[Specimen]
    females: int
    males: int
    unsexed: int
    pair: float


def raised(taxon: Taxon, months: float, today: date) -> Raised | None:
    """How many single animals of a taxon lived from hatching to so many months; None where too few tell.

    At least twelve must have been here from their first month, and five still at that age. Kaplan–Meier: one bought
    part-grown counts from the age at which it came, one alive, sold or missing until then.
    """
    known = lives.read(Asked(clock="age", taxon=taxon.pk), today).groups.get("all", [])
    spans = [(life.entry, life.exit, bool(life.cause)) for life in known]
    horizon = months * MONTH_DAYS
    early = [end for entry, end, _ in spans if entry <= MONTH_DAYS]  # else the curve would start at those who lived
    left = sum(entry < horizon <= end for entry, end, _ in spans)
    if len(early) < FEWEST_YOUNG or left < FEWEST_LEFT:
        return None
    entries, exits, died = ([span[i] for span in spans] for i in range(3))
    steps = [step for step in kaplan_meier(exits, died, entries) if step.time <= horizon]
    if not steps:  # all lived: the exact limit, one-sided, by those who were watched all the way
        whole = sum(end >= horizon for end in early)
        return Raised(1.0, 0.05 ** (1 / whole) if whole else 0.0, 1.0, len(spans), 0)
    last = steps[-1]
    return Raised(last.survival, last.low, last.high, len(spans), sum(step.events for step in steps))


def brood_of(dam: Specimen, clutch: str, survival: float) -> Brood:
    """The young of a dam that are here as single animals, of one clutch where it is named."""
    rows = Specimen.objects.here().filter(dam=dam, kind=SpecimenKind.SINGLE.value).for_display().order_by("code")
    animals = list(rows.filter(clutch=clutch) if clutch else rows)
    standings = [animal.standing for animal in animals]
    females = sum(standing.probably_female for standing in standings)
    males = sum(standing.probably_male for standing in standings)
    chances = [standing.sex_probability for standing in standings]
    return Brood(animals, females, males, len(animals) - females - males, chance_among(chances, survival))


def sexed_of(taxon: Taxon) -> tuple[int, int]:
    """How many females and males of a taxon were ever told apart here."""
    sexes = list(Standing.objects.filter(Q(specimen__taxon=taxon, single=True)).values_list("sex", flat=True))
    return sum(sex == "female" for sex in sexes), sum(sex == "male" for sex in sexes)
