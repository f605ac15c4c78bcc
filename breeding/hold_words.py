"""How long a female stays with her brood, and why she is left alone, in the words of her group."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

from breeding.models import EggSac
from breeding.watchwords import words_of
from collection.dates import say_date
from collection.stages import Group

WITH_MOTHER = {EggSac.Kind.CARRIED.value, EggSac.Kind.FIXED.value, EggSac.Kind.GUARDED.value}


def guarded_until(sac: EggSac) -> date | Literal[False] | None:
    """The day on which she no longer sits with it; None until it ends; False where she never does."""
    words = words_of(Group(sac.female.taxon.group))
    carried = sac.kind == EggSac.Kind.LIVE.value and words.with_her is not None
    if not (sac.kind in WITH_MOTHER or carried):
        return False
    known = min((day for day in (sac.taken_on, sac.ended_on) if day), default=None)
    return known or (sac.latest + timedelta(days=words.with_her) if carried and words.with_her else None)


def say_guarding(sac: EggSac) -> str:
    """Why she is left alone with it."""
    return words_of(Group(sac.female.taxon.group)).guard.format(say_date(sac.when))
