"""A verdict in one sentence: what was seen how often, and when last."""

from collections.abc import Sequence

from collection.dates import say_date
from collection.sexing.terms import Finding, Method
from collection.sexing.weighing import Evidence, Observation, SexVerdict

F, M = Finding.FEMALE, Finding.MALE
SEEN = {  # once, and more often
    (Method.EXUVIA, F): ("spermathecae seen in an exuvia", "spermathecae seen in {} exuviae"),
    (Method.EXUVIA, M): ("no spermathecae in an exuvia", "no spermathecae in {} exuviae"),
    (Method.VENTRAL, F): ("like a female from below", "like a female from below, {} looks"),
    (Method.VENTRAL, M): ("like a male from below", "like a male from below, {} looks"),
    (Method.MATURE_MALE, M): ("bulbs or hooks seen", "bulbs or hooks seen {} times"),
    (Method.PALPS, M): ("palps swollen", "palps swollen, {} looks"),
    (Method.SAC, F): ("laid or gave birth", "laid or gave birth {} times"),
    (Method.PECTINES, F): ("pectines of a female", "pectines of a female, {} looks"),
    (Method.PECTINES, M): ("pectines of a male", "pectines of a male, {} looks"),
    (Method.PAPILLAE, F): ("no genital papillae", "no genital papillae, {} looks"),
    (Method.PAPILLAE, M): ("genital papillae seen", "genital papillae seen {} times"),
    (Method.ATRIUM, F): ("no bars in the atrium", "no bars in the atrium, {} looks"),
    (Method.ATRIUM, M): ("bars in the atrium seen", "bars in the atrium seen {} times"),
    (Method.SEGMENTS, F): ("a female's segments counted", "a female's segments counted {} times"),
    (Method.SEGMENTS, M): ("a male's segments counted", "a male's segments counted {} times"),
    (Method.EPIGYNE, F): ("an epigyne seen", "an epigyne seen {} times"),
    (Method.EPIGYNE, M): ("no epigyne", "no epigyne, {} looks"),
    (Method.GONOPODS, F): ("no gonopods", "no gonopods, {} looks"),
    (Method.GONOPODS, M): ("gonopods seen", "gonopods seen {} times"),
    (Method.DIMORPHISM, F): ("colour or shape of a female", "colour or shape of a female, {} looks"),
    (Method.DIMORPHISM, M): ("colour or shape of a male", "colour or shape of a male, {} looks"),
    (Method.SELLER, F): ("sold as a female", "sold as a female, {} words"),
    (Method.SELLER, M): ("sold as a male", "sold as a male, {} words"),
    (Method.RECORD, F): ("a female by an earlier record", "a female by {} earlier records"),
    (Method.RECORD, M): ("a male by an earlier record", "a male by {} earlier records"),
}


def tell(observations: Sequence[Evidence], verdict: SexVerdict) -> str:
    """Return what speaks for the side that leads, and what against it, each with how often; "" with nothing seen."""
    leads = verdict.probability_female >= 0.5
    sides: dict[bool, dict[tuple[Method, Finding], list[Observation]]] = {True: {}, False: {}}
    for reason in verdict.reasons:
        seen = observations[reason.observation]
        if reason.counted and isinstance(seen, Observation) and (seen.method, seen.finding) in SEEN:
            side = sides[(reason.weight > 0) == leads]
            side.setdefault((seen.method, seen.finding), []).append(seen)
    said = [", ".join(_say(look, seen) for look, seen in side.items()) for side in (sides[True], sides[False]) if side]
    if not said:
        return ""
    text = "; but ".join(said) if len(said) == 2 else said[0]
    last = max(
        (seen.on for side in sides.values() for looks in side.values() for seen in looks if seen.on), default=None
    )
    return f"{text[0].upper()}{text[1:]}{f', last on {say_date(last)}' if last else ''}."


def _say(look: tuple[Method, Finding], seen: Sequence[Observation]) -> str:
    once, often = SEEN[look]
    things = {one.molt if one.molt is not None else one.on for one in seen} if look[0] is Method.EXUVIA else seen
    return once if len(things) == 1 else often.format(len(things))
