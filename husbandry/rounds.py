"""When water and the other rounds of an enclosure fall due: pure, on plain values.

All intervals are common practice; none comes from a published study. The keeper's own rhythm goes before them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from collection.dates import say_date
from collection.stages import Lifestyle
from husbandry.rhythm import water_interval

FRESH_DAYS = 3  # common practice: an animal that hardens loses water and cannot hunt; its dish is looked at often
GRAZERS = (Lifestyle.CULTURE, Lifestyle.SOIL)  # drink from their soil and food


@dataclass(frozen=True)
class Round:
    """A round: the day it falls due, the day after which nobody asks for it any more, its interval, and why."""

    due: date
    days: int
    why: str = ""
    ends: date | None = None


def water_round(
    *,
    last: date | None,
    begins: date,
    own_days: int | None,
    lifestyle: Lifestyle,
    mature_since: date | None = None,
    molted: date | None = None,
    hardens_until: date | None = None,
) -> Round | None:
    """When water falls due for one animal, or None where nobody keeps track of it.

    `last`: the day the dish was last filled; `begins`: since when the animal lives there; `own_days`: the keeper's own
    rhythm of the enclosure; `molted` and `hardens_until`: its last molt and the end of the hardening after it.
    Water is asked for where it has a rhythm or was done before; for a mature male, who drinks often, in any case; and
    for every animal on the day after its molt and while it hardens.
    """
    tracked = last is not None or own_days is not None
    usual = own_days or water_interval(lifestyle, mature_male=mature_since is not None)
    fresh = _after_a_molt(last, begins, usual, molted, hardens_until) if lifestyle not in GRAZERS else None
    duty = mature_since is not None and lifestyle not in GRAZERS
    if not tracked and not duty:
        return fresh
    why = "a mature male drinks often" if duty and own_days is None else ""
    first = max(begins, mature_since) if duty and not tracked and mature_since else begins
    round_ = Round(last + timedelta(days=usual) if last else first, usual, why)
    return fresh if fresh is not None and fresh.due < round_.due else round_


def _after_a_molt(
    last: date | None, begins: date, usual: int, molted: date | None, hardens_until: date | None
) -> Round | None:
    """Fresh water on the day after a molt here, and every few days while the animal hardens."""
    if molted is None or hardens_until is None or molted < begins:
        return None
    days = min(usual, FRESH_DAYS)
    due = molted + timedelta(days=1) if last is None or last <= molted else last + timedelta(days=days)
    if due > hardens_until:
        return None
    return Round(due, days, f"molted on {say_date(molted)}, hardening", hardens_until)


def upkeep_rounds(
    rhythms: Mapping[str, tuple[int, date]], done: Mapping[str, date]
) -> list[tuple[str, date, int, date | None]]:
    """Misting, cleaning and the like: (kind, due, days, last done), soonest first.

    `rhythms`: days between two rounds by kind, and the day they are counted from; 0 days means: not here. `done`: the
    day each kind was last done. Raises ValueError for a negative interval.
    """
    found = []
    for kind, (days, since) in rhythms.items():
        if days < 0:
            raise ValueError("A rhythm cannot be shorter than no days at all.")
        if days:
            last = done.get(kind)
            found.append((kind, (last or since) + timedelta(days=days), days, last))
    return sorted(found, key=lambda item: (item[1], item[0]))
