"""What a pairing is worth, and which of all pairings to make.

Worth = chance of a sac before her molt × chance that a pairing of the taxon succeeds × value of the young for the line,
less the risk to a male who is still needed. The value is 1 − the mean kinship that the young would have with the line
(half the sum of their parents'). The risk is no chance: nobody has counted how often a male is lost; it is points by
the temperament of the taxon, stated below, times how much he is needed. All weights are assumptions of this program.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from breeding.matching import best_plan
from collection.stages import Group

Pair = tuple[int, int]  # a female and a male


class Aim(StrEnum):
    """What the plan is to be best in."""

    BALANCE = "balance"
    SACS = "sacs"
    KIN = "kin"
    MALES = "males"

    @property
    def label(self) -> str:
        """In words."""
        return {"balance": "all in balance", "sacs": "most broods", "kin": "least kinship", "males": "males kept"}[self]


class Temperament(StrEnum):
    """How females of a taxon are known to treat males."""

    CALM = "calm"
    MIXED = "mixed"
    FIERCE = "fierce"


# Common practice of the trade, no count exists.
GENERA = {
    Temperament.CALM: {"Grammostola", "Brachypelma", "Tliltocatl", "Lasiodora", "Nhandu"},
    Temperament.FIERCE: {"Psalmopoeus", "Pterinochilus", "Cyriopagopus", "Chilobrachys", "Stromatopelma"},
}
FIERCE_GROUPS = {Group.MANTIS}
POINTS = {Temperament.CALM: 0.02, Temperament.MIXED: 0.08, Temperament.FIERCE: 0.2}
KIN_POWER = 8  # where kinship is the aim, the value for the line counts eightfold
MALE_FACTOR = 5  # where keeping males is the aim, the risk counts fivefold
LEAST_CHANCE = 0.25  # below this chance of a sac before her molt the molt is too near
MOST_INBREEDING = 0.125  # as of half siblings; the keeper sets another limit on the page


def temperament(taxon_name: str, group: Group) -> Temperament:
    """The temperament class of a taxon by its genus; mixed where nothing is known."""
    genus = taxon_name.partition(" ")[0]
    for known, genera in GENERA.items():
        if genus in genera:
            return known
    return Temperament.FIERCE if group in FIERCE_GROUPS else Temperament.MIXED


def need_of(males_of_line: int, on_loan: bool) -> float:
    """How much a male is needed: 1 when he is the only one of his line, or somebody else's; half with one other."""
    if on_loan or males_of_line <= 1:
        return 1.0
    return 1.0 / males_of_line


@dataclass(frozen=True)
class Prospect:
    """What is known of a pair before it is made."""

    before_molt: float  # chance that a sac would come before her molt, if one comes at all
    success: float  # chance that a pairing of the taxon ends in a sac
    mean_kinship: float  # of the young with the living of the line
    inbreeding: float  # of the young
    temperament: Temperament
    need: float  # of the male, 0 to 1

    def __post_init__(self) -> None:
        """Refuse what is no chance."""
        for value in (self.before_molt, self.success, self.mean_kinship, self.inbreeding, self.need):
            if not 0 <= value <= 1:
                raise ValueError("A chance, a kinship and a need lie between 0 and 1.")

    @property
    def sac(self) -> float:
        """The chance of a sac."""
        return self.before_molt * self.success

    @property
    def value(self) -> float:
        """What its young are worth to the line."""
        return 1 - self.mean_kinship

    @property
    def risk(self) -> float:
        """Points for the risk to a male who is needed."""
        return POINTS[self.temperament] * self.need

    def worth(self, aim: Aim = Aim.BALANCE) -> float:
        """The score of the pair under an aim."""
        if aim is Aim.SACS:
            return self.sac
        if aim is Aim.KIN:
            return self.sac * self.value**KIN_POWER
        return self.sac * self.value - self.risk * (MALE_FACTOR if aim is Aim.MALES else 1)


@dataclass(frozen=True)
class Outcome:
    """What a plan promises as a whole."""

    pairs: int
    sacs: float  # expected
    mean_kinship: float | None  # of the young, each pair weighing by its chance
    inbreeding: float | None  # the highest of any young
    males_used: int
    males_kept: int
    risk: float


def choose(
    prospects: Mapping[Pair, Prospect],
    aim: Aim = Aim.BALANCE,
    *,
    forced: Collection[Pair] = (),
    forbidden: Collection[Pair] = (),
    female_limit: int = 1,
    male_limit: int = 2,
) -> list[Pair]:
    """The best plan, with what the keeper fixed: forced pairs are in it, forbidden ones are not.

    Errors: ValueError when a forced pair is not possible, or more are forced on an animal than its limit allows.
    """
    females = {female: female_limit for female, _ in prospects}
    males = {male: male_limit for _, male in prospects}
    for female, male in forced:
        if (female, male) not in prospects:
            raise ValueError("A pair that cannot be made cannot be fixed either.")
        females[female] -= 1
        males[male] -= 1
    if min([*females.values(), *males.values()], default=0) < 0:
        raise ValueError("More pairs are fixed for one animal than it may be paired in this plan.")
    fixed = set(forced)
    scores = {pair: one.worth(aim) for pair, one in prospects.items() if pair not in fixed and pair not in forbidden}
    return sorted([*fixed, *best_plan(scores, females, males)])


def outcome(plan: Sequence[Pair], prospects: Mapping[Pair, Prospect], males: int) -> Outcome:
    """The totals of a plan; `males` is how many could have been used."""
    made = [prospects[pair] for pair in plan]
    sacs = sum(one.sac for one in made)
    used = len({male for _, male in plan})
    return Outcome(
        pairs=len(plan),
        sacs=sacs,
        mean_kinship=sum(one.sac * one.mean_kinship for one in made) / sacs if sacs else None,
        inbreeding=max((one.inbreeding for one in made), default=None),
        males_used=used,
        males_kept=males - used,
        risk=sum(one.risk for one in made),
    )
