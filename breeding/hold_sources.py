"""Holds that breeding knows of: a female with her brood is not fed, nor one that has closed herself in to bring it."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import timedelta

from breeding import pairings
from breeding.hold_words import guarded_until, say_guarding
from breeding.models import EggSac, Sign
from breeding.watchwords import words_of
from collection import traces
from collection.dates import say_date
from collection.stages import Group
from husbandry.holds import hold_source
from husbandry.rhythm import Hold, HoldKind

HELD_BY = {"closed": 30, "refusing": 14}  # days, an assumption: by then somebody has looked again, or offers a meal
SPIDERS = {Group.TARANTULA, Group.TRUE_SPIDER}
DONE = {"closed": "has closed herself in", "refusing": "refuses food"}


@hold_source("sac")
def guarding(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """From laying until the sac is taken or has ended; oothecae and eggs in soil are not guarded."""
    if traces.lacks(ids, EggSac):
        return {}
    held: dict[int, list[Hold]] = defaultdict(list)
    for sac in EggSac.objects.filter(female__in=ids).select_related("female__taxon"):
        ends = guarded_until(sac)
        if ends is not False:
            spider = Group(sac.female.taxon.group) in SPIDERS
            kind = HoldKind.SAC if spider else HoldKind.BROOD
            held[sac.female_id].append(Hold(kind, sac.earliest, ends, say_guarding(sac)))
    return held


@hold_source("expecting")
def expecting(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """A paired female that has closed herself in, or refuses, since her pairing: left alone, for a time."""
    if traces.lacks(ids, Sign):
        return {}
    signs = Sign.objects.filter(female__in=ids, kind__in=HELD_BY).select_related("female__taxon")
    seen = list(signs.order_by("earliest", "id"))
    waiting = pairings.inseminations([sign.female_id for sign in seen]) if seen else {}
    held: dict[int, list[Hold]] = defaultdict(list)
    for sign in seen:
        one = waiting.get(sign.female_id)
        if one is not None and sign.earliest >= one.waits_from.earliest:
            words = words_of(Group(sign.female.taxon.group))
            reason = f"{words.brood.capitalize()} expected: she {DONE[sign.kind]} since {say_date(sign.when)}"
            ends = sign.latest + timedelta(days=HELD_BY[sign.kind])
            held[sign.female_id].append(Hold(HoldKind.EXPECTING, sign.earliest, ends, reason))
    return held
