"""What can be wrong with an animal, in the trade's words: kinds of trouble, signs, checks in quarantine, and cautions.

Cautions, never treatment: each says what keepers commonly watch or avoid, with the mark of its source, and all of them
end with the vet. Days are assumptions unless a source is named. Nothing here reads a clock.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from collection.stages import Group, Term


class HealthKind(Term):
    """Kinds of trouble, after the causes that are recorded of captive animals (see `KINDS`)."""

    UNCLEAR = "unclear", "something is wrong"
    DRY = "dry", "dehydration"
    MOLT = "molt", "bad molt"
    INJURY = "injury", "fall or injury"
    LIMB = "limb", "lost limb"
    PREY = "prey", "hurt by prey"
    MITES = "mites", "mites"
    NEMATODES = "nematodes", "nematodes at the mouth"
    FLIES = "flies", "phorid flies"
    MOULD = "mould", "mould or fungus"
    PARASITE = "parasite", "another parasite"
    INFECTION = "infection", "infection"
    HEAT = "heat", "overheated"
    COLD = "cold", "chilled"
    SHIPPING = "shipping", "weak after shipping"
    AGE = "age", "failing with age"


class Outcome(Term):
    """How an issue ended."""

    RESOLVED = "resolved", "resolved"
    DIED = "died", "died of it or with it"
    PERMANENT = "permanent", "stays as it is"
    UNCLEAR = "unclear", "never became clear"


class Course(Term):
    """How it looked since the last time."""

    BETTER = "better"
    SAME = "same"
    WORSE = "worse"


class Sign(Term):
    """What somebody may see without knowing what it is."""

    SHRUNKEN = "shrunken", "shrunken abdomen"
    CURLED = "curled", "legs curling under"
    DISH = "dish", "sits over the water dish"
    SLOW = "slow", "slow or limp"
    HUDDLED = "huddled", "huddled posture"
    MOUTH = "mouth", "white at the mouth"
    STUCK = "stuck", "stuck in its skin"
    WOUND = "wound", "a wound, or fluid leaking"
    LIMB = "limb", "a leg is missing"
    SPECKS = "specks", "tiny moving specks"
    LARVAE = "larvae", "small flies or larvae"
    MOULD = "mould", "mould in the enclosure"


class Check(Term):
    """What is looked at in quarantine."""

    BODY = "body", "body and posture"
    LIMBS = "limbs", "legs counted"
    MITES = "mites", "mites on the body and in the box"
    MOUTH = "mouth", "mouth, for white discharge"
    FAECES = "faeces", "droppings"


class Found(Term):
    """What a look gave."""

    CLEAR = "clear", "clear"
    DOUBTFUL = "doubtful", "not sure, look again"


@dataclass(frozen=True)
class Caution:
    """One sentence of caution and the mark of its source."""

    text: str
    source: str


PRACTICE, OWN = "common practice", "a rule of this program"
PIZZI = "Pizzi, Carta & George 2003"
GUELPH = "Pagliarani & Snyman 2022"
PHORID = "Machkour-M’Rabet, Dor & Hénaut 2015"
HOBBY = "hobby health page"

SPIDERS = frozenset({Group.TARANTULA, Group.TRUE_SPIDER})
ARACHNIDS = SPIDERS | {Group.SCORPION, Group.WHIP_SPIDER}
HUNTERS = ARACHNIDS | {Group.MANTIS, Group.CENTIPEDE}
DISH_USERS = ARACHNIDS | {Group.CENTIPEDE}
HANGING = frozenset({Group.MANTIS, Group.STICK_INSECT})
CULTURES = frozenset({Group.ISOPOD, Group.ROACH})
ALL = frozenset(Group)

ASK = Caution("Ask a vet who sees invertebrates. Nothing here is a treatment.", OWN)
APART = Caution("Look after it last, with tools and water of its own, and wash hands afterwards.", PRACTICE)
REMAINS = Caution("Take out what is left of prey; it feeds what you do not want.", PRACTICE)
NO_PREY = Caution("No live prey while it is weak: prey injures.", PRACTICE)


@dataclass(frozen=True)
class KindFacts:
    """What goes with a kind: whom it fits, when to look again, whether it spreads and whether feeding stops."""

    groups: frozenset[Group]
    again_days: int  # assumption
    cautions: tuple[Caution, ...]
    contagious: bool = False
    holds_food: bool = False
    back_days: int = 30  # how far back contacts are listed at first; assumption


KINDS: dict[HealthKind, KindFacts] = {
    HealthKind.UNCLEAR: KindFacts(ALL, 3, (Caution("Disturb it as little as possible and look again.", PRACTICE),)),
    HealthKind.DRY: KindFacts(
        ALL,
        1,
        (
            Caution("See that water is there and within reach, and look again the next day.", PRACTICE),
            Caution("A shrunken abdomen, legs curling under and slowness are the signs.", HOBBY),
        ),
    ),
    HealthKind.MOLT: KindFacts(
        ALL,
        1,
        (
            Caution("Leave it alone unless a vet says otherwise: pulling at the old skin tears the new one.", PRACTICE),
            Caution("Kept too dry, animals of wet forests get stuck in their skin.", HOBBY),
            NO_PREY,
        ),
        holds_food=True,
    ),
    HealthKind.INJURY: KindFacts(
        ALL,
        1,
        (
            Caution("Leave it where it is, low and undisturbed, and note whether fluid leaks.", PRACTICE),
            NO_PREY,
        ),
        holds_food=True,
    ),
    HealthKind.LIMB: KindFacts(
        ALL - {Group.ISOPOD}, 7, (Caution("Note which one, and look again after the next molt.", PRACTICE),)
    ),
    HealthKind.PREY: KindFacts(
        frozenset(HUNTERS),
        1,
        (Caution("Take all prey out; prey left in at a molt kills or injures.", HOBBY), NO_PREY),
        holds_food=True,
    ),
    HealthKind.MITES: KindFacts(
        ALL,
        3,
        (
            Caution(
                "Many mites live on leftovers and harm nobody; look where they sit, on the body or beside.", PRACTICE
            ),
            REMAINS,
            APART,
        ),
        contagious=True,
    ),
    HealthKind.NEMATODES: KindFacts(
        SPIDERS,
        3,
        (
            Caution("White mass at the mouth, no appetite, a huddled posture; death after weeks to months.", PIZZI),
            Caution("No cure is known. What lived and died with it is kept and thrown away as infectious.", PIZZI),
            APART,
        ),
        contagious=True,
        holds_food=True,
        back_days=90,
    ),
    HealthKind.FLIES: KindFacts(
        SPIDERS,
        3,
        (
            Caution("More than 500 larvae came out of one wild female.", PHORID),
            REMAINS,
            Caution("Close gaps that a small fly passes, and look at all that stands near.", PRACTICE),
            APART,
        ),
        contagious=True,
    ),
    HealthKind.MOULD: KindFacts(
        ALL,
        3,
        (
            Caution(
                "Mould on the substrate is a matter of air and leftovers; on the animal it is one for the vet.",
                PRACTICE,
            ),
            REMAINS,
            APART,
        ),
        contagious=True,
        back_days=14,
    ),
    HealthKind.PARASITE: KindFacts(
        ALL, 3, (Caution("Keep what you find, closed and labelled, for the vet.", PRACTICE), APART), contagious=True
    ),
    HealthKind.INFECTION: KindFacts(
        ALL,
        2,
        (Caution("Until a vet has looked, treat it as if it spreads.", PRACTICE), APART),
        contagious=True,
        holds_food=True,
    ),
    HealthKind.HEAT: KindFacts(
        ALL,
        1,
        (Caution("Never from one extreme to the other; water in reach, no food meanwhile.", PRACTICE),),
        holds_food=True,
    ),
    HealthKind.COLD: KindFacts(
        ALL,
        1,
        (Caution("Never from one extreme to the other; no food before it moves well.", PRACTICE),),
        holds_food=True,
    ),
    HealthKind.SHIPPING: KindFacts(
        ALL, 1, (Caution("Water first, dim, no food for 2 to 7 days.", PRACTICE),), holds_food=True
    ),
    HealthKind.AGE: KindFacts(ALL - CULTURES, 7, (Caution("Water in reach, small prey, short ways.", PRACTICE),)),
}
RUPTURE = Caution(
    "Rupture of the abdomen after a fall is among the most common causes of death in captive spiders.", GUELPH
)

SIGN_GROUPS: dict[Sign, frozenset[Group]] = {
    Sign.CURLED: ARACHNIDS - {Group.SCORPION},
    Sign.DISH: frozenset(DISH_USERS),
    Sign.HUDDLED: SPIDERS,
    Sign.MOUTH: SPIDERS,
    Sign.LARVAE: SPIDERS | {Group.ISOPOD, Group.ROACH, Group.MILLIPEDE, Group.BEETLE},
    Sign.LIMB: ALL - CULTURES - {Group.MILLIPEDE},
    Sign.SHRUNKEN: ALL - {Group.ISOPOD},
}
WITH_ABDOMEN = SPIDERS | {
    Group.WHIP_SPIDER,
    Group.MANTIS,
    Group.ROACH,
    Group.STICK_INSECT,
}  # with an abdomen to be seen
SUGGESTS: dict[Sign, HealthKind] = {
    Sign.SHRUNKEN: HealthKind.DRY,
    Sign.CURLED: HealthKind.DRY,
    Sign.MOUTH: HealthKind.NEMATODES,
    Sign.STUCK: HealthKind.MOLT,
    Sign.WOUND: HealthKind.INJURY,
    Sign.LIMB: HealthKind.LIMB,
    Sign.SPECKS: HealthKind.MITES,
    Sign.LARVAE: HealthKind.FLIES,
    Sign.MOULD: HealthKind.MOULD,
}
DRY_ALONE = frozenset({Sign.SHRUNKEN, Sign.CURLED})
DRY_TOGETHER = frozenset({Sign.DISH, Sign.SLOW})
CONTAGIOUS = tuple(kind.value for kind, facts in KINDS.items() if facts.contagious)

QUARANTINE_DAYS = 30  # common practice: the least; 60 to 90 for wild-caught animals
WILD_DAYS = 60
CHECK_DAYS = 7  # assumption


def kinds_for(group: Group) -> list[HealthKind]:
    """Return the kinds that fit a group, in order; what a group cannot have is not offered."""
    return [kind for kind in HealthKind if group in KINDS[kind].groups]


def signs_for(group: Group) -> list[tuple[Sign, str]]:
    """Return the signs that can be seen of a group, each in the group's own words."""
    fitting = [sign for sign in Sign if group in SIGN_GROUPS.get(sign, ALL)]
    return [(sign, sign_label(sign, group)) for sign in fitting]


def sign_label(sign: Sign, group: Group) -> str:
    """Return a sign in the words of the group: a grub has a body, no abdomen that shrinks."""
    return "shrunken body" if sign is Sign.SHRUNKEN and group not in WITH_ABDOMEN else sign.label


def checks_for(group: Group) -> list[Check]:
    """Return what is looked at in quarantine; the mouth is a spider's."""
    unfit = set() if group in SPIDERS else {Check.MOUTH}
    unfit |= {Check.LIMBS} if group in CULTURES | {Group.MILLIPEDE} else set()
    return [check for check in Check if check not in unfit]


def cautions_for(kind: HealthKind, group: Group) -> tuple[Caution, ...]:
    """Return the cautions of a kind, those of the group among them, and the vet last."""
    own = (RUPTURE,) if kind is HealthKind.INJURY and group in SPIDERS else ()
    return (*own, *KINDS[kind].cautions, ASK)


def looks_dry(signs: Collection[str]) -> bool:
    """Say whether signs make one think of dehydration: one strong sign, or both weak ones (an assumption)."""
    return bool(DRY_ALONE & set(signs)) or set(signs) >= DRY_TOGETHER


def suggested(signs: Collection[str], group: Group) -> HealthKind:
    """Return the kind that signs point to, of those that fit the group; what spreads goes first."""
    pointed = {SUGGESTS[Sign(sign)] for sign in signs if sign in SUGGESTS}
    if HealthKind.FLIES in pointed and group not in KINDS[HealthKind.FLIES].groups:
        pointed.add(HealthKind.PARASITE)
    pointed &= set(kinds_for(group))
    if looks_dry(signs):
        pointed.add(HealthKind.DRY)
    order = sorted(pointed, key=lambda kind: (not KINDS[kind].contagious, list(HealthKind).index(kind)))
    return order[0] if order else HealthKind.UNCLEAR


def leave_alone(group: Group) -> str:
    """Return what looks wrong and is not: how a group lies or hangs while it molts."""
    if group in SPIDERS:
        return "On its back or side it is most likely molting: do not touch it."
    if group in HANGING:
        return "Hanging still with its head down it is most likely molting: do not touch it."
    return ""


def again_on(last_look: date, own: date | None, kind: HealthKind, days: int | None) -> date:
    """Return when to look again: the day the keeper chose, or the rhythm after the last look.

    Errors: ValueError for a rhythm below one day, or a chosen day before the look itself.
    """
    if own is not None:
        if own < last_look:
            raise ValueError("It cannot be looked at again before it was looked at.")
        return own
    rhythm = KINDS[kind].again_days if days is None else days
    if rhythm < 1:
        raise ValueError("A rhythm is at least one day.")
    return last_look + timedelta(days=rhythm)


def doubtful(findings: Mapping[str, str]) -> list[str]:
    """Return in words what a look in quarantine left in doubt."""
    return [Check(check).label for check, found in findings.items() if found == Found.DOUBTFUL]
