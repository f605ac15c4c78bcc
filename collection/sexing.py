"""The sex of an animal from all that was ever seen of it, by Bayes' rule, and how many animals make a pair.

Posterior odds are prior odds times the likelihood ratio of each independent piece of evidence (Altman & Bland, BMJ
309:102, 1994). Every likelihood below is an assumption: no study of how well keepers sex from exuviae or from below
has been found. The table is one argument and can be replaced. The prior is one half: parity at three incubation
temperatures in *Pterinochilus murinus* (Reichling & Gutzke, Zoo Biol. 17, 1998).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from collection.dates import say_date
from collection.stages import Group, Term


class Method(Term):
    """What was looked at."""

    EXUVIA = "exuvia"
    VENTRAL = "ventral", "from below (epigastric area)"
    MATURE_MALE = "mature_male", "bulbs or hooks"
    SAC = "sac", "sac or eggs laid, young born"
    PECTINES = "pectines"
    SEGMENTS = "segments", "segments counted from below"
    EPIGYNE = "epigyne"
    GONOPODS = "gonopods"
    DIMORPHISM = "dimorphism", "colour or shape"
    SELLER = "seller", "seller's word"
    RECORD = "record", "earlier record"


class Finding(Term):
    """What it looked like."""

    FEMALE = "female"
    MALE = "male"
    UNCLEAR = "unclear"


class Verdict(Term):
    """What all evidence comes to."""

    FEMALE = "female"
    MALE = "male"
    PROBABLY_FEMALE = "probably_female"
    PROBABLY_MALE = "probably_male"
    UNSEXED = "unsexed"


class Likelihoods(NamedTuple):
    """Chances of each call for a true female and a true male, and why."""

    female_if_female: float
    female_if_male: float
    male_if_male: float
    male_if_female: float
    unclear_if_female: float
    unclear_if_male: float
    why: str

    def of(self, finding: Finding) -> tuple[float, float]:
        """Return (chance for a female, chance for a male) of a finding."""
        return {
            Finding.FEMALE: (self.female_if_female, self.female_if_male),
            Finding.MALE: (self.male_if_female, self.male_if_male),
            Finding.UNCLEAR: (self.unclear_if_female, self.unclear_if_male),
        }[finding]


# Assumptions, all of them. Sizes are leg spans.
DEFAULT: Mapping[str, Likelihoods] = {
    "exuvia, 60 mm and more": Likelihoods(0.96, 0.01, 0.95, 0.02, 0.02, 0.04, "structure seen directly"),
    "exuvia, 30–60 mm": Likelihoods(0.85, 0.03, 0.82, 0.06, 0.09, 0.15, "smaller structure, more often not seen"),
    "exuvia, below 30 mm": Likelihoods(0.55, 0.08, 0.50, 0.15, 0.30, 0.42, "often not yet formed"),
    "ventral, 60 mm and more": Likelihoods(0.72, 0.18, 0.72, 0.18, 0.10, 0.10, "no hard structure"),
    "ventral, 30–60 mm": Likelihoods(0.55, 0.30, 0.55, 0.30, 0.15, 0.15, "near a coin toss"),
    "mature_male": Likelihoods(0.001, 0.001, 0.998, 0.001, 0.999, 0.001, "near proof"),
    "sac": Likelihoods(0.999, 0.001, 0.001, 0.001, 0.5, 0.5, "near proof; unmated females lay too"),
    "pectines": Likelihoods(0.95, 0.03, 0.95, 0.03, 0.02, 0.02, "teeth inside the range of one sex only"),
    "segments": Likelihoods(0.97, 0.02, 0.97, 0.02, 0.01, 0.01, "countable: female 6, male 8"),
    "epigyne": Likelihoods(0.97, 0.02, 0.90, 0.05, 0.03, 0.05, "hard plate in adults"),
    "gonopods": Likelihoods(0.90, 0.05, 0.97, 0.02, 0.05, 0.03, "gap at body ring 7 in males near adulthood"),
    "dimorphism": Likelihoods(0.80, 0.15, 0.80, 0.15, 0.05, 0.05, "differs by species"),
    "seller": Likelihoods(0.65, 0.40, 0.55, 0.30, 0.05, 0.05, "mixed motives"),
    "record": Likelihoods(0.93, 0.05, 0.93, 0.05, 0.5, 0.5, "the keeper's own, evidence not stated"),
    "record, with a doubt": Likelihoods(0.75, 0.20, 0.75, 0.20, 0.5, 0.5, "marked with a question mark"),
}
SMALL_BELOW_MM, LARGE_FROM_MM = 30.0, 60.0
NAKED_EYE_FROM_MM = 75.0  # below it an exuvia read without a loupe counts as one size smaller
DOUBT = 0.5  # assumption: an unsure call has the square root of its likelihood ratio
STRONG = 5.0  # likelihood ratio from which evidence on both sides is a conflict
SURE, PROBABLE = 0.99, 0.80
SLACK = 1e-12  # rounding of gamma functions; Beta(1, 1) and 39 animals give 0.95 exactly
SIZES = ("below 30 mm", "30–60 mm", "60 mm and more")

# A structure that was seen, not one that was missed.
HARD = {
    (Method.EXUVIA, Finding.FEMALE), (Method.SAC, Finding.FEMALE), (Method.MATURE_MALE, Finding.MALE),
    (Method.PECTINES, Finding.FEMALE), (Method.PECTINES, Finding.MALE), (Method.SEGMENTS, Finding.FEMALE),
    (Method.SEGMENTS, Finding.MALE), (Method.EPIGYNE, Finding.FEMALE), (Method.GONOPODS, Finding.MALE),
}  # fmt: skip
SILENT = {  # not having seen it says nothing
    (Method.MATURE_MALE, Finding.FEMALE): "not seeing bulbs or hooks says nothing",
    (Method.MATURE_MALE, Finding.UNCLEAR): "not seeing bulbs or hooks says nothing",
    (Method.SAC, Finding.MALE): "a sac not laid says nothing",
    (Method.SAC, Finding.UNCLEAR): "a sac not laid says nothing",
}
# Word in the taxon's exception that makes a missing structure meaningless.
EXCEPTIONS = {
    (Method.EXUVIA, Finding.MALE): "spermathecae",
    (Method.EXUVIA, Finding.UNCLEAR): "spermathecae",
    (Method.EPIGYNE, Finding.MALE): "epigyne",
    (Method.EPIGYNE, Finding.UNCLEAR): "epigyne",
    (Method.PECTINES, Finding.FEMALE): "overlap",
    (Method.PECTINES, Finding.MALE): "overlap",
}
COMMON = (Method.DIMORPHISM, Method.SAC, Method.SELLER, Method.RECORD)
METHODS: dict[Group, tuple[Method, ...]] = {
    Group.TARANTULA: (Method.EXUVIA, Method.VENTRAL, Method.MATURE_MALE, *COMMON),
    Group.TRUE_SPIDER: (Method.EPIGYNE, Method.MATURE_MALE, *COMMON),
    Group.SCORPION: (Method.PECTINES, *COMMON),
    Group.MANTIS: (Method.SEGMENTS, *COMMON),
    Group.MILLIPEDE: (Method.GONOPODS, *COMMON),
}


@dataclass(frozen=True)
class Observation:
    """One look at an animal: `size_mm` is its leg span then, `molt` names the exuvia, `by` who looked.

    `taxon_exception` is what the taxon lacks, as "no spermathecae", "no hooks", "no epigyne", "pectines overlap".
    """

    method: Method
    finding: Finding
    on: date | None = None
    size_mm: float | None = None
    intact: bool = True
    magnified: bool = False
    by: str = ""
    molt: int | str | None = None
    confident: bool = True
    taxon_exception: str = ""


@dataclass(frozen=True)
class Reason:
    """One piece of evidence in words, the chance of a female after it, and whether it counted."""

    text: str
    moves_to: float
    counted: bool
    observation: int


@dataclass(frozen=True)
class SexVerdict:
    """Chance of a female, the verdict, whether strong evidence stands on both sides, and every reason in order."""

    probability_female: float
    verdict: Verdict
    conflict: bool
    reasons: tuple[Reason, ...]


Evidence = Observation | tuple[float, float]


def update(probability_female: float, likelihood_female: float, likelihood_male: float) -> float:
    """Return the chance of a female after evidence with these chances for a true female and a true male.

    All three lie in 0–1. Errors: ValueError outside, or when the evidence is impossible for whichever sex is left.
    """
    values = (probability_female, likelihood_female, likelihood_male)
    if not all(0 <= value <= 1 for value in values):
        raise ValueError(f"Chances lie between 0 and 1; given were {values}.")
    largest = max(likelihood_female, likelihood_male)  # divided by first, so that tiny chances do not vanish
    female = probability_female * (likelihood_female / largest) if largest else 0.0
    male = (1 - probability_female) * (likelihood_male / largest) if largest else 0.0
    if female + male == 0:
        raise ValueError("This evidence is impossible for a female and for a male alike.")
    return female / (female + male)


def weigh(
    observations: Sequence[Evidence], prior_female: float = 0.5, likelihoods: Mapping[str, Likelihoods] = DEFAULT
) -> SexVerdict:
    """Return the verdict of all observations; a plain pair (chance if female, chance if male) is evidence as stated.

    Looks at the same exuvia by the same person count once, the latest. `female` and `male` need 0.99 and a hard
    structure seen on that side, `probably` 0.80. Errors: ValueError as `update`, or for a size that is not positive.
    """
    probability = update(prior_female, 1, 1)
    latest = _latest(observations)
    reasons, ratios = [], []
    for i, seen in enumerate(observations):
        pair, why = _read(seen, likelihoods)
        if isinstance(seen, Observation) and latest[_key(seen)] != i:
            pair, why = None, "the same was looked at again later"
        if pair:
            probability = update(probability, *pair)
            ratios.append(pair)
        text = f"{_say(seen)}: {why}." if pair else f"{_say(seen)}: not counted, {why}."
        reasons.append(Reason(text, probability, pair is not None, i))
    counted = [observations[reason.observation] for reason in reasons if reason.counted]
    conflict = any(f >= STRONG * m for f, m in ratios) and any(m >= STRONG * f for f, m in ratios)
    return SexVerdict(probability, _verdict(probability, counted), conflict, tuple(reasons))


def methods_for(group: Group) -> tuple[Method, ...]:
    """Return the methods that make sense in a group, the surest first."""
    return METHODS.get(group, COMMON)


def animals_for_pair(
    confidence: float, female_fraction: float | tuple[float, float] = 0.5, survival: float = 1.0
) -> int:
    """Return the least number of unsexed young that holds both sexes, alive, with `confidence`.

    `female_fraction` is a share, or (a, b) for a Beta(a, b) belief in it; `survival` the chance that one lives to be
    used. P = 1 − (1 − sp)^n − (1 − s(1 − p))^n + (1 − s)^n, averaged over p. Errors: ValueError outside 0–1, where no
    number can do, or where more than 131,072 would be needed.
    """
    _share(confidence, "The confidence", below=1)
    _share(survival, "Survival", above=0)
    if isinstance(female_fraction, tuple | list):
        a, b = female_fraction
        if not (0 < a < math.inf and 0 < b < math.inf):
            raise ValueError("A belief in the share of females is two numbers above zero.")
        return _least(lambda n: _pair_chance_beta(n, a, b, survival), confidence)
    p = _share(female_fraction, "The share of females", above=0, below=1)
    return _least(lambda n: _pair_chance(n, p, survival), confidence)


def draws_for_pair(total: int, males: int, confidence: float) -> int:
    """Return how many of `total` animals, `males` of them male, must be taken to hold both sexes with `confidence`.

    Hypergeometric: P = 1 − [C(N − M, n) + C(M, n)] / C(N, n). ValueError when one sex is absent.
    """
    _share(confidence, "The confidence", below=1)
    if not 0 < males < total:
        raise ValueError("There is no pair to draw: the animals are all of one sex.")

    def chance(n: int) -> float:
        ways = math.comb(total, n)
        return (ways - math.comb(total - males, n) - math.comb(males, n)) / ways

    return next(n for n in range(2, total + 1) if chance(n) >= confidence)


def _latest(observations: Sequence[Evidence]) -> dict[tuple[object, ...], int]:
    order = [(seen.on or date.min, i) for i, seen in enumerate(observations) if isinstance(seen, Observation)]
    found: dict[tuple[object, ...], int] = {}
    for _, i in sorted(order):
        seen = observations[i]
        if isinstance(seen, Observation):
            found[_key(seen)] = i
    return found


def _key(seen: Observation) -> tuple[object, ...]:
    """Return what makes two looks one: the same exuvia, or without one the same thing, seen by the same person."""
    if seen.molt is not None:
        return seen.method, seen.by, "molt", seen.molt
    return seen.method, seen.by, "day", seen.on if seen.method is Method.EXUVIA else None


def _read(seen: Evidence, table: Mapping[str, Likelihoods]) -> tuple[tuple[float, float] | None, str]:
    """Return the two likelihoods, or None, and the words why."""
    if not isinstance(seen, Observation):
        return (seen[0], seen[1]), "as stated"
    look = (seen.method, seen.finding)
    if look in SILENT:
        return None, SILENT[look]
    word = EXCEPTIONS.get(look)
    if word and word in seen.taxon_exception.lower():
        return None, f"this taxon is an exception ({seen.taxon_exception})"
    if seen.method is Method.EXUVIA and seen.finding is Finding.UNCLEAR and not seen.intact:
        return None, "the skin was torn"
    row = _row(seen)
    if row not in table:
        return None, "too small to tell from below"
    female, male = table[row].of(seen.finding)
    if female == male:
        return None, "it speaks for neither sex"
    if not seen.confident and seen.method is not Method.RECORD:
        female, male = female**DOUBT, male**DOUBT
    return (female, male), table[row].why


def _row(seen: Observation) -> str:
    if seen.method is Method.RECORD:
        return "record" if seen.confident else "record, with a doubt"
    if seen.method not in (Method.EXUVIA, Method.VENTRAL):
        return seen.method.value
    return f"{seen.method.value}, {SIZES[_size_class(seen)]}"


def _size_class(seen: Observation) -> int:
    """Return 0, 1 or 2 by leg span; a torn or unmagnified exuvia counts as smaller; unknown is the middle."""
    size = seen.size_mm
    if size is not None and not 0 < size < math.inf:
        raise ValueError("A leg span must be a number of millimetres above zero.")
    number = 1 if size is None else (size >= SMALL_BELOW_MM) + (size >= LARGE_FROM_MM)
    if seen.method is Method.EXUVIA:
        number -= not seen.intact
        number -= size is not None and size < NAKED_EYE_FROM_MM and not seen.magnified
    return max(0, number)


def _say(seen: Evidence) -> str:
    if not isinstance(seen, Observation):
        return f"Evidence {seen[0]:g} to {seen[1]:g}"
    label = seen.method.label
    parts = [f"{label[0].upper()}{label[1:]}: {seen.finding.label}{'' if seen.confident else ' (unsure)'}"]
    if seen.size_mm:
        parts.append(f"at {seen.size_mm:g} mm")
    if seen.on:
        parts.append(f"on {say_date(seen.on)}")
    if seen.by:
        parts.append(f"by {seen.by}")
    return " ".join(parts)


def _verdict(probability: float, counted: Sequence[Evidence]) -> Verdict:
    hard = {seen.finding for seen in counted if _is_hard(seen) and isinstance(seen, Observation)}
    if probability >= PROBABLE:
        sure = probability >= SURE and Finding.FEMALE in hard
        return Verdict.FEMALE if sure else Verdict.PROBABLY_FEMALE
    if 1 - probability >= PROBABLE:
        sure = 1 - probability >= SURE and Finding.MALE in hard
        return Verdict.MALE if sure else Verdict.PROBABLY_MALE
    return Verdict.UNSEXED


def _is_hard(seen: Evidence) -> bool:
    return isinstance(seen, Observation) and seen.confident and (seen.method, seen.finding) in HARD


def _pair_chance(n: int, p: float, s: float) -> float:
    return 1 - (1 - s * p) ** n - (1 - s * (1 - p)) ** n + (1 - s) ** n


def _pair_chance_beta(n: int, a: float, b: float, s: float) -> float:
    """Average over p ~ Beta(a, b): of n young k live, all of one sex with chance B(a, b + k)/B(a, b) or its mirror."""

    def one_sex(k: int) -> float:
        both = math.lgamma(a + b) - math.lgamma(a + b + k)
        males = math.exp(math.lgamma(b + k) - math.lgamma(b) + both)
        return males + math.exp(math.lgamma(a + k) - math.lgamma(a) + both)

    if s == 1:
        return 1 - one_sex(n)
    lose = sum(_binomial(n, k, s) * one_sex(k) for k in range(1, n + 1))
    return 1 - lose - (1 - s) ** n


def _binomial(n: int, k: int, s: float) -> float:
    ways = math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
    return math.exp(ways + k * math.log(s) + (n - k) * math.log1p(-s))


def _least(chance: Callable[[int], float], confidence: float) -> int:
    """Return the least n from 2 up with chance(n) ≥ confidence; the chance rises with n."""
    high = 2
    enough = confidence - SLACK
    while chance(high) < enough:
        high *= 2
        if high > 2**17:
            raise ValueError("No number of animals that anyone could raise gives that confidence.")
    low = max(2, high // 2)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= enough else (middle + 1, high)
    return high


def _share(value: float, what: str, *, above: float = -1, below: float = 2) -> float:
    if not (0 <= value <= 1 and above < value < below):
        raise ValueError(f"{what} of {value} leaves nothing to work out; it is a share between 0 and 1.")
    return value
