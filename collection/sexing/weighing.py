"""The sex of an animal from all that was ever seen of it, by Bayes' rule.

Posterior log odds are prior log odds plus the sum of the log likelihood ratios of the independent pieces of evidence
(Altman & Bland, BMJ 309:102, 1994). The prior is one half: parity at three incubation temperatures in *Pterinochilus
murinus* (Reichling & Gutzke, Zoo Biol. 17, 1998). Looks that share what they look at share its errors, so they are
not independent: the same person counts once, and several people are tempered by the design effect 1 + (k − 1)ρ of k
correlated looks (Kish, Survey Sampling, 1965).
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from collection.dates import say_date
from collection.sexing.likelihoods import DEFAULT, EXCEPTIONS, HARD, SILENT, SIZES, Likelihoods
from collection.sexing.terms import Finding, Method, Verdict

SMALL_BELOW_MM, LARGE_FROM_MM = 30.0, 60.0
NAKED_EYE_FROM_MM = 75.0  # below it an exuvia read without a loupe counts as one size smaller
LEG_SPANS_PER_CARAPACE = 2.7  # assumption, only to find the size class of a skin whose legs were lost
DOUBT = 0.5  # assumption: an unsure call has the square root of its likelihood ratio
SHARED = 0.5  # assumption: correlation of the errors of two people who look at the same skin
STRONG = 5.0  # likelihood ratio from which evidence on both sides is a conflict
SURE, PROBABLE = 0.99, 0.80
SLACK = 1e-12  # rounding: odds of 1 to 4 are 80 % for a male as for a female
WORDS = ((300, "is near proof of a"), (20, "speaks strongly for"), (5, "speaks for"), (2, "speaks weakly for"))


@dataclass(frozen=True)
class Observation:
    """One look at an animal: `size_mm` is its leg span then, `molt` names the exuvia, `by` who looked.

    `carapace_mm` stands in where no leg span is known, for the size class only. `weak` marks pectines judged without
    the taxon's range and segments counted before the fifth instar. `taxon_exception` is what the taxon lacks, as "no
    spermathecae", "no hooks", "no epigyne", "pectines overlap".
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
    carapace_mm: float | None = None
    weak: bool = False

    def __post_init__(self) -> None:
        """Take plain words for what was looked at and seen, and refuse words that are none of ours."""
        for name, words in (("method", Method), ("finding", Finding)):
            word = getattr(self, name)
            if not isinstance(word, words):
                if word not in set(words):
                    raise ValueError(f"“{word}” is not one of {', '.join(words)}.")
                object.__setattr__(self, name, words(word))


@dataclass(frozen=True)
class Reason:
    """One piece of evidence in words, the chance of a female after it, and whether it counted.

    `weight` is the natural logarithm of the likelihood ratio as counted: above 0 for a female, below for a male.
    """

    text: str
    moves_to: float
    counted: bool
    observation: int
    weight: float = 0.0


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
    observations: Iterable[Evidence], prior_female: float = 0.5, likelihoods: Mapping[str, Likelihoods] = DEFAULT
) -> SexVerdict:
    """Return the verdict of all observations; a plain pair (chance if female, chance if male) is evidence as stated.

    Looks at the same exuvia by the same person count once, the latest; by several people they are tempered. `female`
    and `male` need 0.99 and a hard structure seen on that side, `probably` 0.80. Errors: ValueError as `update`, or
    for a size that is not positive.
    """
    observations = list(observations)
    odds = _log_odds(update(prior_female, 1, 1), 1 - prior_female)
    read = _read_all(observations, likelihoods)
    readers = _readers(observations, read)
    reasons, weights = [], []
    for i, (seen, (pair, why)) in enumerate(zip(observations, read, strict=True)):
        weight = 0.0
        if pair:
            shared = readers[_thing(seen)] if isinstance(seen, Observation) else 1
            weight = _log_odds(*pair) / (1 + (shared - 1) * SHARED)
            odds = _add(odds, weight)
            weights.append(weight)
            why += f"; {shared} people looked at the same, so each counts in part" if shared > 1 else ""
        text = f"{_say(seen)}: {why}." if pair else f"{_say(seen)}: not counted, {why}."
        reasons.append(Reason(text, _chance(odds), pair is not None, i, weight))
    probability = _chance(odds)
    counted = [observations[reason.observation] for reason in reasons if reason.counted]
    strong = math.log(STRONG) - SLACK
    conflict = any(w >= strong for w in weights) and any(w <= -strong for w in weights)
    return SexVerdict(probability, _verdict(probability, counted), conflict, tuple(reasons))


def say_weight(weight: float) -> str:
    """Return a weight (natural logarithm of a likelihood ratio) in words: "speaks strongly for female"."""
    ratio = math.exp(min(abs(weight), 700.0))
    words = next((words for least, words in WORDS if ratio >= least), "hardly speaks for")
    return f"{words} {'female' if weight > 0 else 'male'}" if weight else "speaks for neither"


def _log_odds(female: float, male: float) -> float:
    if female == 0 or male == 0:
        return math.inf if female else -math.inf
    return math.log(female) - math.log(male)


def _add(odds: float, weight: float) -> float:
    total = odds + weight
    if math.isnan(total):  # certain of one sex and certain of the other
        raise ValueError("This evidence is impossible for a female and for a male alike.")
    return total


def _chance(odds: float) -> float:
    small = math.exp(-abs(odds))
    return 1 / (1 + small) if odds >= 0 else small / (1 + small)


def _read_all(
    observations: Sequence[Evidence], table: Mapping[str, Likelihoods]
) -> list[tuple[tuple[float, float] | None, str]]:
    """Each observation as its two likelihoods, or None, and the words why."""
    latest = _latest(observations)
    read: list[tuple[tuple[float, float] | None, str]] = []
    for i, seen in enumerate(observations):
        pair, why = _read(seen, table)
        if isinstance(seen, Observation) and latest[_key(seen)] != i:
            pair, why = None, "the same was looked at again later"
        if pair:
            update(0.5, *pair)  # refuses what is no chance, or impossible for both
        read.append((pair, why))
    return read


def _readers(
    observations: Sequence[Evidence], read: Sequence[tuple[tuple[float, float] | None, str]]
) -> dict[tuple[object, ...], int]:
    """How many looks that count share what they look at."""
    found: dict[tuple[object, ...], int] = {}
    for seen, (pair, _) in zip(observations, read, strict=True):
        if pair and isinstance(seen, Observation):
            found[_thing(seen)] = found.get(_thing(seen), 0) + 1
    return found


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
    return *_thing(seen), seen.by.strip().casefold()


def _thing(seen: Observation) -> tuple[object, ...]:
    """Return what was looked at: this exuvia, or this part of the animal; another's word is nobody else's."""
    if seen.molt is not None:
        return seen.method, "molt", seen.molt
    if seen.method in (Method.SELLER, Method.RECORD):
        return seen.method, seen.by.strip().casefold()
    return seen.method, "day", seen.on if seen.method is Method.EXUVIA else None


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
    row = row_of(seen)
    if row not in table:
        return None, "too small to tell from below"
    female, male = table[row].of(seen.finding)
    if female == male:
        return None, "it speaks for neither sex"
    if not seen.confident and seen.method is not Method.RECORD:
        female, male = female**DOUBT, male**DOUBT
    return (female, male), table[row].why


def row_of(seen: Observation) -> str:
    """Return the row of the table of likelihoods that a look is weighed by."""
    if seen.method is Method.RECORD:
        return "record" if seen.confident else "record, with a doubt"
    if seen.weak and seen.method is Method.PECTINES:
        return "pectines, by eye"
    if seen.weak and seen.method is Method.SEGMENTS:
        return "segments, before L5"
    if seen.method not in (Method.EXUVIA, Method.VENTRAL):
        return seen.method.value
    return f"{seen.method.value}, {SIZES[_size_class(seen)]}"


def _size_class(seen: Observation) -> int:
    """Return 0, 1 or 2 by leg span; a torn or unmagnified exuvia counts as smaller; unknown is the middle."""
    for size in (seen.size_mm, seen.carapace_mm):
        if size is not None and not 0 < size < math.inf:
            raise ValueError("A size must be a number of millimetres above zero.")
    size = seen.size_mm
    if size is None and seen.carapace_mm is not None:
        size = seen.carapace_mm * LEG_SPANS_PER_CARAPACE
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
    elif seen.carapace_mm:
        parts.append(f"at {seen.carapace_mm:g} mm carapace")
    if seen.on:
        parts.append(f"on {say_date(seen.on)}")
    if seen.by:
        parts.append(f"by {seen.by}")
    return " ".join(parts)


def _verdict(probability: float, counted: Sequence[Evidence]) -> Verdict:
    hard = {seen.finding for seen in counted if _is_hard(seen) and isinstance(seen, Observation)}
    if probability >= PROBABLE - SLACK:
        sure = probability >= SURE - SLACK and Finding.FEMALE in hard
        return Verdict.FEMALE if sure else Verdict.PROBABLY_FEMALE
    if 1 - probability >= PROBABLE - SLACK:
        sure = 1 - probability >= SURE - SLACK and Finding.MALE in hard
        return Verdict.MALE if sure else Verdict.PROBABLY_MALE
    return Verdict.UNSEXED


def _is_hard(seen: Evidence) -> bool:
    """Whether a structure itself was seen; pectines or segments that could not be compared are none."""
    return (
        isinstance(seen, Observation)
        and seen.confident
        and not (seen.weak and seen.method in (Method.PECTINES, Method.SEGMENTS))
        and (seen.method, seen.finding) in HARD
    )
