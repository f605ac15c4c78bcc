"""Which of several rhythms an animal follows, and how the coming feeds fall under it.

The keeper's own goes before the usual one: that of the animal, then of its place (the nearest: shelf before rack before
room), then of its taxon. In one scope a rhythm of a season goes before one of the whole year when the last meal fell
into the season, one for a stage before one for all, a later one before an earlier. Fattening shortens a rhythm before
and after a pairing until food is refused, except one that was set for the animal itself.

Days are whole days. No usual rhythm here depends on the season: no figure for that is on record, so seasons are the
keeper's to set.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from collection.dates import say_date
from collection.stages import Stage, Term
from collection.wording import plural
from husbandry.rhythm import Hold, Rhythm, after_holds

FATTENING_SHARE = 0.5  # assumption: fed twice as often
FATTENING_AT_LEAST_DAYS = 2
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip


class Scope(Term):
    """What a rhythm of the keeper's own was set for, the weightiest first."""

    ANIMAL = "animal"
    PLACE = "place"
    TAXON = "taxon"


ORDER = list(Scope)


@dataclass(frozen=True)
class Own:
    """A rhythm of the keeper's own. Zero days: do not ask. `near`: how deep in the tree of places it was set.

    `months`: first and last month of its season, both included, over the turn of the year too; None all year.
    """

    scope: Scope
    days: int
    since: date
    of: str = ""
    reason: str = ""
    stage: Stage | None = None
    months: tuple[int, int] | None = None
    near: int = 0

    def __post_init__(self) -> None:
        """Refuse what no calendar has."""
        if self.days < 0:
            raise ValueError("A feeding rhythm is zero days (do not ask) or more.")
        if self.months and not all(1 <= month <= 12 for month in self.months):
            raise ValueError("A season runs from a month to a month, each from 1 to 12.")


class InfluenceKind(Term):
    """What another app knows that feeding should heed."""

    FATTENING = "fattening"
    GRAVID = "gravid", "may be gravid"


@dataclass(frozen=True)
class Influence:
    """Something that bears on feeding from `begins` up to, not including, `ends` (None: until further notice)."""

    kind: InfluenceKind
    begins: date
    ends: date | None
    reason: str


def in_season(months: tuple[int, int] | None, day: date) -> bool:
    """Say whether a day lies in a season of whole months, which may run over the turn of the year."""
    if months is None:
        return True
    first, last = months
    return first <= day.month <= last if first <= last else day.month >= first or day.month <= last


def say_season(months: tuple[int, int] | None) -> str:
    """Return a season in words; nothing for the whole year."""
    if months is None:
        return ""
    first, last = (MONTHS[month - 1] for month in months)
    return first if first == last else f"{first} to {last}"


def choose(own: Sequence[Own], usual: Rhythm | None, stage: Stage, day: date) -> Rhythm | None:
    """Return the rhythm in force for an animal, or None where nothing is to be offered by the clock.

    `own`: every rhythm of the keeper's that names the animal, a place it stands in, or its taxon, oldest first.
    `day`: the day of the last meal, or the one from which the first is counted; it decides on the season.
    """
    fitting = [one for one in own if one.stage in (None, stage) and in_season(one.months, day)]
    if not fitting:
        return usual
    best = max(enumerate(fitting), key=lambda item: (*_weight(item[1]), item[0]))[1]
    if not best.days:
        return None
    own_animal = best.scope is Scope.ANIMAL
    said = [best.reason or f"{_name(best)}, {plural(best.days, 'day')}", say_season(best.months)]
    return Rhythm(best.days, "; ".join(filter(None, said)), own_animal, "" if own_animal else _name(best))


def fatten(rhythm: Rhythm | None, influences: Sequence[Influence], since: date | None, refused: bool) -> Rhythm | None:
    """Return the rhythm, shortened where an animal is fattened for a pairing.

    `since`: the last meal, or the day from which the first is counted. A refusal since then ends it: she has had enough
    for now. A rhythm that was set for the animal itself stays as it is.
    """
    if rhythm is None or rhythm.own or refused or since is None:
        return rhythm
    short = min(rhythm.days, max(FATTENING_AT_LEAST_DAYS, math.ceil(rhythm.days * FATTENING_SHARE)))
    for influence in influences:
        if influence.kind is not InfluenceKind.FATTENING:
            continue
        days = max(short, (influence.begins - since).days)
        if days < rhythm.days and (influence.ends is None or since + timedelta(days=days) < influence.ends):
            reason = f"{influence.reason}; otherwise {plural(rhythm.days, 'day')}: {rhythm.reason}"
            return replace(rhythm, days=days, reason=reason, name="fattening")
    return rhythm


def coming(first: date | None, rhythm: Rhythm | None, holds: Sequence[Hold], today: date, until: date) -> list[date]:
    """Return the days on which food will be offered from today up to, not including, `until`, if all of it is taken.

    `first`: the next feed after holds; what is overdue is fed today. Holds put a later feed off to their end.
    """
    days: list[date] = []
    if rhythm is None:
        return days
    planned = [replace(hold, planned=True) for hold in holds]
    day = max(first, today) if first else None
    while day is not None and day < until:
        days.append(day)
        day, _ = after_holds(day + timedelta(days=rhythm.days), planned)
    return days


def say_influence(influence: Influence, today: date) -> str:
    """Return an influence in words with its time."""
    until = f", until {say_date(influence.ends, today)}" if influence.ends else ""
    return f"{influence.reason}, since {say_date(influence.begins, today)}{until}"


def _weight(own: Own) -> tuple[int, int, bool, bool, date]:
    return -ORDER.index(own.scope), own.near, own.months is not None, own.stage is not None, own.since


def _name(own: Own) -> str:
    if own.scope is Scope.ANIMAL:
        return "own rhythm"
    return f"rhythm of {own.of}" if own.of else f"rhythm of its {own.scope.label}"
