"""What to look at in which group, how, and what each look may be mistaken for; and what the next look could tell.

Sources of the guides: exuviae and accessory organs, Gabriel 2011 and keepers' practice; pectines, Sissom in Polis 1990;
segments of mantises and the bars of vinegaroons as in the reference of each group; the rest is common practice.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collection.sexing.likelihoods import DEFAULT, SILENT, Likelihoods, say_row
from collection.sexing.terms import Finding, Method, Verdict
from collection.sexing.weighing import SLACK, SURE, Evidence, Observation, SexVerdict, row_of, weigh
from collection.stages import Group

COMMON = (Method.DIMORPHISM, Method.SAC, Method.SELLER, Method.RECORD)
METHODS: dict[Group, tuple[Method, ...]] = {
    Group.TARANTULA: (Method.EXUVIA, Method.VENTRAL, Method.MATURE_MALE, Method.PALPS, *COMMON),
    Group.TRUE_SPIDER: (Method.EPIGYNE, Method.MATURE_MALE, Method.PALPS, *COMMON),
    Group.SCORPION: (Method.PECTINES, Method.PAPILLAE, *COMMON),
    Group.MANTIS: (Method.SEGMENTS, *COMMON),
    Group.MILLIPEDE: (Method.GONOPODS, *COMMON),
    Group.WHIP_SPIDER: (Method.ATRIUM, *COMMON),
}
VINEGAROONS = "Thelyphonidae"  # the bars are known of them alone in their group
NEVER_NEXT = {Method.SAC, Method.SELLER, Method.RECORD}  # nobody can decide to look at these tomorrow


@dataclass(frozen=True)
class Guide:
    """What to look for, and what it is mistaken for."""

    look_for: str
    pitfalls: str


GUIDES: dict[Method, Guide] = {
    Method.EXUVIA: Guide(
        "Soak the shed abdomen in soapy water, spread it, and look from inside between the front pair of book lungs: "
        "a flap or two bulbs stand up in a female, a bare fold is taken for a male.",
        "Know the form of the species: one fused plate or a pair. A torn or dried skin hides it, a small one has none "
        "yet, and accessory organs of males have passed for it. Below about 7.5 cm leg span use a lens.",
    ),
    Method.VENTRAL: Guide(
        "From below, look at the furrow between the front book lungs: drawn out and swollen in females, straight, "
        "with a patch of fine spigots before it, in males.",
        "A guess, not a proof: angle, light and wet hair change it. Below 3 cm it tells nothing.",
    ),
    Method.MATURE_MALE: Guide(
        "After his last molt a male has bulbs with a thorn at the ends of his palps and, in most genera, hooks on the "
        "first legs.",
        "Not seeing hooks says nothing: young males have none, and some genera never grow any.",
    ),
    Method.PALPS: Guide(
        "The last joint of a male's palps swells a molt before he matures.",
        "Palps that are not swollen say nothing.",
    ),
    Method.SAC: Guide("Eggs were laid or young born.", "Unmated females lay too. No sac says nothing."),
    Method.PECTINES: Guide(
        "Count the teeth of one comb under a lens. Males mostly have more of them, on a larger comb, and more angular.",
        "In many species the counts overlap: compare with the range of each sex, and say unclear inside both.",
    ),
    Method.PAPILLAE: Guide(
        "Two small papillae show under the genital operculum of a male.",
        "Small and easily missed in juveniles.",
    ),
    Method.ATRIUM: Guide(
        "In the shed skin of a vinegaroon, two hard bars stand inside the genital atrium of a male.",
        "From the third nymph on only; before that nothing tells.",
    ),
    Method.SEGMENTS: Guide(
        "Count the segments of the abdomen from below: six in a female, eight in a male; the last one of a female is "
        "far larger.",
        "By eye from about L4 or L5 on. The angle of a picture hides the small last ones.",
    ),
    Method.EPIGYNE: Guide(
        "An adult female has a hard dark plate in front of the furrow, between the book lungs.",
        "Only after the last molt, and some families never have one.",
    ),
    Method.GONOPODS: Guide(
        "On the seventh ring of the body a male has gonopods where the legs are missing; a female has legs there.",
        "Near adulthood only. Do not dig up a molting animal to look.",
    ),
    Method.DIMORPHISM: Guide("What sets the sexes of this species apart.", "Differs by species, age and locality."),
    Method.SELLER: Guide("What the seller said.", "Mixed motives; it weighs little."),
    Method.RECORD: Guide("An earlier record that does not say how.", "It weighs less than a look that says how."),
}


BROODS = {
    **dict.fromkeys((Group.TARANTULA, Group.TRUE_SPIDER, Group.WHIP_SPIDER), "An egg sac was laid."),
    Group.SCORPION: "Young were born.",
    Group.MANTIS: "An ootheca was laid.",
}


def look_for(method: Method, group: Group) -> str:
    """Return what to look for, in the words of the group."""
    return BROODS.get(group, GUIDES[method].look_for) if method is Method.SAC else GUIDES[method].look_for


@dataclass(frozen=True)
class Prospect:
    """What one finding of a next look would lead to, and how likely that finding is by what is known today."""

    finding: Finding
    chance: float
    probability_female: float
    verdict: Verdict


@dataclass(frozen=True)
class NextLook:
    """One look that could be taken next: what it may bring, and the chance that it settles the sex at 99 %."""

    method: Method
    row: str
    says: str
    prospects: tuple[Prospect, ...]
    settles: float


def methods_for(group: Group) -> tuple[Method, ...]:
    """Return the methods that make sense in a group, the surest first."""
    return METHODS.get(group, COMMON)


def methods_of_taxon(
    group: Group, *, family: str = "", dimorphism: str = "", no_epigyne: bool = False
) -> tuple[Method, ...]:
    """Return the methods of a group without those that a taxon has nothing to show for."""
    gone = {Method.DIMORPHISM} if not dimorphism else set()
    gone |= {Method.EPIGYNE} if no_epigyne else set()
    gone |= {Method.ATRIUM} if family != VINEGAROONS else set()
    return tuple(method for method in methods_for(group) if method not in gone)


def next_looks(
    observations: Sequence[Evidence],
    methods: Sequence[Method],
    like: Observation,
    likelihoods: Mapping[str, Likelihoods] = DEFAULT,
) -> list[NextLook]:
    """Return what looking once more could bring, the likeliest to settle it first.

    `like` gives size, lens, who looks and the taxon's exception of the look to come; its method and finding are not
    used. The chance of a finding is that of the table, weighted by what is known today. What the rules would not
    count, as a look that says nothing, is left out.
    """
    now = weigh(observations, likelihoods=likelihoods)
    found = [_next_look(observations, method, like, likelihoods, now) for method in methods if method not in NEVER_NEXT]
    return sorted((look for look in found if look), key=lambda look: -look.settles)


def _next_look(
    observations: Sequence[Evidence],
    method: Method,
    like: Observation,
    table: Mapping[str, Likelihoods],
    now: SexVerdict,
) -> NextLook | None:
    coming = replace(like, method=method, finding=Finding.UNCLEAR, molt="next" if method is Method.EXUVIA else None)
    row = row_of(coming)
    if row not in table:
        return None
    prospects = []
    for finding in Finding:
        if (method, finding) in SILENT:
            continue
        after = weigh([*observations, replace(coming, finding=finding)], likelihoods=table)
        if not after.reasons[-1].counted:
            continue
        if_female, if_male = table[row].of(finding)
        chance = now.probability_female * if_female + (1 - now.probability_female) * if_male
        prospects.append(Prospect(finding, chance, after.probability_female, after.verdict))
    if not any(prospect.finding is not Finding.UNCLEAR for prospect in prospects):
        return None
    settles = math.fsum(prospect.chance for prospect in prospects if is_settled(prospect))
    return NextLook(method, row, say_row(row), tuple(prospects), settles)


def is_settled(prospect: Prospect) -> bool:
    """Whether 99 % would be reached, on either side."""
    return max(prospect.probability_female, 1 - prospect.probability_female) >= SURE - SLACK
