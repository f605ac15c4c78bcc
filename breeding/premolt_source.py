"""Signs seen on paired females that speak for a molt as well: the skin darkens, the retreat is shut."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from breeding.models import Sign
from collection import traces
from collection.premolt import PremoltSign
from collection.premolt_clues import Clues, clue_source

MEANS = {
    Sign.Kind.BALD_DARK.value: PremoltSign.BALD_DARK.value,
    Sign.Kind.CLOSED.value: PremoltSign.CLOSED.value,
    Sign.Kind.FATTENING.value: PremoltSign.FAT.value,
}


@clue_source("breeding signs")
@traces.shared
def signs(ids: Sequence[int]) -> dict[int, Clues]:
    """The signs of these animals that are signs of a molt too."""
    if traces.lacks(ids, Sign):
        return {}
    found: dict[int, list[tuple[str, date]]] = defaultdict(list)
    rows = Sign.objects.filter(female__in=ids, kind__in=list(MEANS))
    for pk, kind, day in rows.values_list("female_id", "kind", "latest"):
        found[pk].append((MEANS[kind], day))
    return {pk: Clues(signs=tuple(told)) for pk, told in found.items()}
