"""What a count of teeth or segments says, before anybody gives an opinion."""

from collection.sexing.terms import Finding, Method

FEMALE_SEGMENTS, MALE_SEGMENTS = 6, 8  # of a mantis, seen from below
COUNTED = (Method.PECTINES, Method.SEGMENTS)
Range = tuple[int | None, int | None]
NOT_KNOWN: Range = (None, None)


def finding_of_count(
    method: Method, counted: int, female: Range = NOT_KNOWN, male: Range = NOT_KNOWN
) -> Finding | None:
    """Return what a count comes to; None where there is nothing to compare it with.

    Pectines are compared with the ranges of both sexes (least, most): inside one only it tells, inside both or none it
    is unclear. Segments of a mantis: 6 and 8. Errors: ValueError for a count below 1 or of what is not counted.
    """
    if method not in COUNTED or counted < 1:
        raise ValueError("Only teeth of pectines and segments are counted, from one upwards.")
    if method is Method.SEGMENTS:
        return {FEMALE_SEGMENTS: Finding.FEMALE, MALE_SEGMENTS: Finding.MALE}.get(counted, Finding.UNCLEAR)
    if None in (*female, *male):
        return None
    inside = [low <= counted <= high for low, high in (female, male) if low is not None and high is not None]
    if inside == [True, False]:
        return Finding.FEMALE
    return Finding.MALE if inside == [False, True] else Finding.UNCLEAR
