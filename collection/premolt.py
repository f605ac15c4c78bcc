"""Is this animal getting ready to molt? Time since the last molt, refusals and signs, weighed into one chance.

The odds of premolt by the molt forecast are multiplied by a likelihood ratio for the refusals in a row and one for each
kind of sign. No study gives such ratios, so every number below is an assumption of this program; the signs themselves
are common practice. Two signs of one kind (a dark abdomen and a dark bald patch are the same pigment seen twice) count
as the stronger of them. Nothing makes it certain before the skin lies there: the chance stays within 1–98 %.

A forecast's chance means: the molt comes within the next `premolt_days` of its median, none having come so far.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from collection.intervals import IntervalForecast
from collection.stages import Group, Term

PREMOLT_SHARE = 0.15  # assumption: the last part of an interval that is premolt; 2–14 days of a spiderling's 21–56
SHORTEST_DAYS = 3.0
NO_FORECAST = 0.15  # assumption: without a forecast, an animal met on any day is in the last such part of its interval
LEAST, MOST = 0.01, 0.98
VERY_LIKELY, LIKELY, POSSIBLE = 0.85, 0.6, 0.3  # from which chance on it is called so
REFUSED = (1.0, 1.8, 3.0, 3.8)  # assumption: ratio after 0, 1, 2, 3 refusals in a row; more say no more
ATE = 0.4  # assumption: it took food at the last offer


class PremoltSign(Term):
    """What can be seen of an animal before a molt."""

    DARK = "dark", "abdomen dark or dull"
    GLOSSY = "glossy", "abdomen tight and glossy"
    BALD_DARK = "bald_dark", "bald patch darkened"
    BALD_LIGHT = "bald_light", "bald patch still light"
    MAT = "mat", "silk mat spun"
    CLOSED = "closed", "retreat webbed or closed shut"
    FAT = "fat", "abdomen fat"
    SWOLLEN = "swollen", "body swollen, plates apart"
    DULL = "dull", "colours dull or milky"
    PADS = "pads", "wing pads swollen"
    SLUGGISH = "sluggish", "slow and sluggish"
    HANGING = "hanging", "hangs and keeps still"
    BURIED = "buried", "dug in"
    SLIM = "slim", "abdomen slim"


class Kind(Term):
    """What several signs have in common; of one kind only the strongest counts."""

    COLOUR = "colour"
    SILK = "silk"
    BODY = "body"
    HABIT = "habit"


@dataclass(frozen=True)
class Weight:
    """What a sign is worth: its kind, and the likelihood ratio premolt to no premolt (an assumption)."""

    kind: Kind
    ratio: float


WEIGHTS: dict[PremoltSign, Weight] = {
    PremoltSign.DARK: Weight(Kind.COLOUR, 4.0),
    PremoltSign.GLOSSY: Weight(Kind.COLOUR, 2.5),
    PremoltSign.BALD_DARK: Weight(Kind.COLOUR, 8.0),
    PremoltSign.BALD_LIGHT: Weight(Kind.COLOUR, 0.2),
    PremoltSign.DULL: Weight(Kind.COLOUR, 3.0),
    PremoltSign.MAT: Weight(Kind.SILK, 3.0),
    PremoltSign.CLOSED: Weight(Kind.SILK, 2.5),
    PremoltSign.BURIED: Weight(Kind.SILK, 2.0),
    PremoltSign.FAT: Weight(Kind.BODY, 1.6),
    PremoltSign.SWOLLEN: Weight(Kind.BODY, 2.5),
    PremoltSign.PADS: Weight(Kind.BODY, 4.0),
    PremoltSign.SLIM: Weight(Kind.BODY, 0.4),
    PremoltSign.SLUGGISH: Weight(Kind.HABIT, 1.5),
    PremoltSign.HANGING: Weight(Kind.HABIT, 2.5),
}
SPIDERS = ("dark", "glossy", "mat", "closed", "fat", "slim", "sluggish")
SIGNS: dict[Group, tuple[str, ...]] = {
    Group.TARANTULA: ("bald_dark", "bald_light", *SPIDERS),
    Group.TRUE_SPIDER: (*SPIDERS, "hanging"),
    Group.SCORPION: ("swollen", "dull", "sluggish", "closed"),
    Group.MANTIS: ("swollen", "dull", "hanging", "pads"),
    Group.STICK_INSECT: ("dull", "hanging", "pads"),
    Group.WHIP_SPIDER: ("swollen", "dull", "hanging"),
    Group.ROACH: ("swollen", "dull"),
    Group.CENTIPEDE: ("dull", "sluggish", "buried"),
    Group.MILLIPEDE: ("buried",),
    Group.BEETLE: ("buried", "dull"),
    Group.OTHER: ("dull", "sluggish"),
}


@dataclass(frozen=True)
class Premolt:
    """The chance that an animal is in premolt, the word for it, and the sentence that says why."""

    probability: float
    word: str  # "very likely", "likely", "possible", "unlikely"
    reason: str

    @property
    def likely(self) -> bool:
        """Whether it is called at least likely."""
        return self.probability >= LIKELY


def signs_for(group: Group) -> list[PremoltSign]:
    """The signs that can be seen of an animal of this group: no bald patch of a mantis, no wing pads of a spider."""
    return [PremoltSign(value) for value in SIGNS.get(group, ())]


def premolt_days(forecast: IntervalForecast) -> float:
    """How many days before its molt an animal with this forecast is in premolt."""
    return max(SHORTEST_DAYS, PREMOLT_SHARE * forecast.median)


def forecast_chance(forecast: IntervalForecast, elapsed: float) -> float:
    """The chance by the molt forecast alone that premolt has begun, `elapsed` days after the last molt.

    Errors: ValueError for a negative time.
    """
    return forecast.chance_within(premolt_days(forecast), elapsed)


def premolt_likelihood(
    forecast_chance: float | None,
    refusals: int = 0,
    signs: Iterable[str] = (),
    *,
    ate: bool = False,
    days_since_molt: int | None = None,
) -> Premolt:
    """The chance of premolt, its word and its reason.

    `forecast_chance`: what the function of that name says, None where nothing is forecast; `refusals` in a row since
    the last meal; `signs`: values of `PremoltSign` seen lately; `ate`: it took food at the last offer (then there are
    no refusals); `days_since_molt` is said in the reason. Errors: ValueError for a chance outside 0–1, a negative
    number of refusals, refusals of an animal that ate, a word that is no sign.
    """
    _check(forecast_chance, refusals, ate)
    seen = _strongest(_known(signs))
    start = NO_FORECAST if forecast_chance is None else min(max(forecast_chance, LEAST), MOST)
    ratio = ATE if ate else REFUSED[min(refusals, len(REFUSED) - 1)]
    odds = start / (1 - start) * ratio * math.prod(WEIGHTS[sign].ratio for sign in seen)
    probability = min(max(odds / (1 + odds), LEAST), MOST)
    return Premolt(
        probability,
        word_for(probability),
        _reason(probability, forecast_chance, _records(refusals, seen, ate, days_since_molt)),
    )


def word_for(probability: float) -> str:
    """The word for a chance of premolt."""
    steps = ((VERY_LIKELY, "very likely"), (LIKELY, "likely"), (POSSIBLE, "possible"))
    return next((word for least, word in steps if probability >= least), "unlikely")


def _check(chance: float | None, refusals: int, ate: bool) -> None:
    if chance is not None and not 0 <= chance <= 1:
        raise ValueError(f"A chance lies between 0 and 1, not {chance}.")
    if refusals < 0:
        raise ValueError(f"Refusals are counted from zero up, not {refusals}.")
    if ate and refusals:
        raise ValueError("An animal that ate at the last offer has not refused since its last meal.")


def _known(signs: Iterable[str]) -> list[PremoltSign]:
    known = []
    for sign in dict.fromkeys(signs):
        try:
            known.append(PremoltSign(sign))
        except ValueError:
            raise ValueError(f"“{sign}” is no sign of premolt that is known here.") from None
    return known


def _strongest(signs: Sequence[PremoltSign]) -> list[PremoltSign]:
    """Of each kind the sign that moves the odds most, in the order they came."""
    best: dict[Kind, PremoltSign] = {}
    for sign in signs:
        kind = WEIGHTS[sign].kind
        if kind not in best or _pull(sign) > _pull(best[kind]):
            best[kind] = sign
    return [sign for sign in signs if sign in best.values()]


def _pull(sign: PremoltSign) -> float:
    return abs(math.log(WEIGHTS[sign].ratio))


def _records(refusals: int, signs: Iterable[PremoltSign], ate: bool, days: int | None) -> list[str]:
    said = [] if days is None else [f"{days} day{'' if days == 1 else 's'} since the last molt"]
    if refusals:
        said.append(f"refused {({1: 'once', 2: 'twice'}).get(refusals, f'{refusals} times')}")
    if ate:
        said.append("took food at the last offer")
    return [*said, *(sign.label for sign in signs)]


def _reason(probability: float, chance: float | None, records: Sequence[str]) -> str:
    clock = (
        "no molt forecast to go by"
        if chance is None
        else f"by the molt forecast alone {min(max(chance, LEAST), MOST):.0%}".replace("%", " %")
    )
    why = ", ".join(records) or "no record beyond the calendar"
    return f"Premolt {word_for(probability)}, {round(probability * 100)} %: {why}; {clock}."
