"""Who was near an animal that may carry something: worked out from stays, as dates and reasons.

A stay runs from its first to its last day, both included; an open one has no last day. Near is, from the nearest: the
same enclosure at the same time, the same enclosure after or before, the place beside, the same shelf. Where an
enclosure stood in the past is not on record, so shelves are those of today.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.stages import Term

LONGEST_DAYS = 3650


class How(Term):
    """How two animals came near each other, the nearest first."""

    TOGETHER = "together", "shared its enclosure"
    AFTER = "after", "lived in its enclosure after it"
    BEFORE = "before", "lived in its enclosure before it"
    MET = "met", "was put together with it"
    BESIDE = "beside", "stood beside it"
    SHELF = "shelf", "stood on its shelf"
    BOX = "box", "came in the same box"


ORDER = list(How)


@dataclass(frozen=True)
class Lived:
    """One stay: who, in which enclosure, which shelf (None: stands alone) and position, from when to when."""

    specimen: int
    enclosure: int
    shelf: int | None
    position: int
    begins: date
    ends: date | None

    def __post_init__(self) -> None:
        """Refuse a stay that runs backwards."""
        if self.ends is not None and self.ends < self.begins:
            raise ValueError("A stay ends before it begins.")


@dataclass(frozen=True)
class Contact:
    """One way in which an animal was near, from when to when (None: still)."""

    specimen: int
    how: How
    begins: date
    ends: date | None
    where: int | None = None  # the enclosure of the other


def window(today: date, days: int) -> date:
    """Return the first day looked at. Errors: ValueError for less than one day, or for more than ten years."""
    if not 1 <= days <= LONGEST_DAYS:
        raise ValueError(f"Look back between 1 and {LONGEST_DAYS} days.")
    return today - timedelta(days=days)


def contacts(suspect: int, stays: Sequence[Lived], since: date, today: date, wide: frozenset[int]) -> list[Contact]:
    """Return every way in which others were near `suspect` between two days, the nearest way of each first.

    `wide` are the shelves on which all that stands counts as near; elsewhere (a rack or room without shelves) only the
    places beside do.
    """
    own = [stay for stay in stays if stay.specimen == suspect and _during(stay, since, today)]
    found = [
        contact
        for stay in stays
        if stay.specimen != suspect
        for mine in own
        if (contact := _near(mine, stay, since, today, wide)) is not None
    ]
    return sorted(set(found), key=_order)


def beside(one: Lived, other: Lived) -> bool:
    """Say whether two enclosures stand in neighbouring places of one shelf; without a position nobody knows."""
    return 0 not in (one.position, other.position) and abs(one.position - other.position) == 1


def _order(contact: Contact) -> tuple[int, date, int, date, int]:
    """The nearest way first, then the earliest day."""
    ends = contact.ends or date.max
    return ORDER.index(contact.how), contact.begins, contact.specimen, ends, contact.where or 0


def _during(stay: Lived, since: date, today: date) -> bool:
    return stay.begins <= today and (stay.ends is None or stay.ends >= since)


def _near(mine: Lived, other: Lived, since: date, today: date, wide: frozenset[int]) -> Contact | None:
    if not _during(other, since, today):
        return None
    both = _overlap(mine, other, since)
    if mine.enclosure == other.enclosure:
        if both is not None and not _changed_over(mine, other):
            return Contact(other.specimen, How.TOGETHER, *both, other.enclosure)
        how = How.AFTER if other.begins >= mine.begins else How.BEFORE
        return Contact(other.specimen, how, max(other.begins, since), other.ends, other.enclosure)
    if both is None or mine.shelf is None or mine.shelf != other.shelf:
        return None
    if beside(mine, other):
        return Contact(other.specimen, How.BESIDE, *both, other.enclosure)
    return Contact(other.specimen, How.SHELF, *both, other.enclosure) if mine.shelf in wide else None


def _changed_over(one: Lived, other: Lived) -> bool:
    """Whether one moved in on the day on which the other moved out: a day in common, but not the enclosure."""
    return one.ends == other.begins or other.ends == one.begins


def _overlap(one: Lived, other: Lived, since: date) -> tuple[date, date | None] | None:
    """The days that two stays have in common, from `since` on."""
    begins = max(one.begins, other.begins, since)
    ends = min((stay.ends for stay in (one, other) if stay.ends is not None), default=None)
    return None if ends is not None and ends < begins else (begins, ends)
