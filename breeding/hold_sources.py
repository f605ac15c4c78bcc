"""Holds that breeding knows of: a female with a sac is not fed."""

from collections import defaultdict
from collections.abc import Sequence

from breeding.models import EggSac
from collection.dates import say_date
from husbandry.holds import hold_source
from husbandry.rhythm import Hold, HoldKind

WITH_MOTHER = {"carried", "fixed", "guarded"}


@hold_source("sac")
def guarding(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """From laying until the sac is taken or has ended; oothecae and eggs in soil are not guarded."""
    held: dict[int, list[Hold]] = defaultdict(list)
    for sac in EggSac.objects.filter(female__in=ids, kind__in=WITH_MOTHER):
        ends = min((day for day in (sac.taken_on, sac.ended_on) if day), default=None)
        reason = f"Guarding the sac of {say_date(sac.when)}"
        held[sac.female_id].append(Hold(HoldKind.SAC, sac.earliest, ends, reason))
    return held
