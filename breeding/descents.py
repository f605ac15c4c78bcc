"""What breeding knows of the sires of animals whose sire is not one known male."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from breeding.models import PossibleSire
from collection import descents

NAMED = 4


def possible(ids: Sequence[int]) -> Mapping[int, str]:
    """Of these animals, the males that may be their sire, likeliest first."""
    rows = PossibleSire.objects.filter(young__in=ids).order_by("young", "-chance", "male_id")
    found: dict[int, list[str]] = defaultdict(list)
    chances: dict[int, float] = defaultdict(float)
    for young, male, chance in rows.values_list("young", "male__code", "chance"):
        found[young].append(male)
        chances[young] += chance
    return {young: _said(males, chances[young]) for young, males in found.items()}


def _said(males: Sequence[str], chance: float) -> str:
    others = ["another"] if chance < 0.999 or len(males) > NAMED else []
    named = [*males[:NAMED], *others]
    if len(named) == 1:
        return f"sire {named[0]}"
    return f"sire {', '.join(named[:-1])} or {named[-1]}"


descents.sires["breeding"] = possible
