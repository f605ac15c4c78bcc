"""The book of one feeder: counts, purchases, what a culture gave, what was fed, what died; nothing without an entry.

A count says what is there; what the book said otherwise is the difference that the count brings into it, on a line of
its own. Numbers are animals. Entries of one day stand in the order in which they were written down.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from collection.stages import Term


class EntryKind(Term):
    """What an entry says."""

    COUNTED = "counted"
    BOUGHT = "bought"
    CULTURE = "culture", "taken from a culture"
    FED = "fed"
    LOST = "lost", "died or escaped"
    GIVEN = "given", "given away"


COMES = (EntryKind.BOUGHT, EntryKind.CULTURE)


@dataclass(frozen=True)
class Entry:
    """One entry; a count holds what is there, all others what came or went (never negative)."""

    on: date
    at: datetime
    kind: EntryKind
    number: int
    ref: int | None = None

    def __post_init__(self) -> None:
        """Refuse what nobody can count."""
        if self.number < 0:
            raise ValueError("A number of feeders cannot be negative.")


@dataclass(frozen=True)
class Line:
    """A line of the book: what the entry changed, and the balance after it."""

    entry: Entry
    change: int
    balance: int

    @property
    def fewer(self) -> int:
        """How many went."""
        return -self.change

    @property
    def below(self) -> int:
        """How far the balance lies below nothing."""
        return max(-self.balance, 0)

    @property
    def unexplained(self) -> int:
        """What a count found more, or less, than the book said."""
        return self.change if self.entry.kind is EntryKind.COUNTED else 0


def book(entries: Iterable[Entry], opening: int = 0) -> list[Line]:
    """Return the lines of the book in order. A balance below zero says that a purchase or a count is missing."""
    lines, balance = [], opening
    for entry in sorted(entries, key=_order):
        change = _change(entry, balance)
        balance += change
        lines.append(Line(entry, change, balance))
    return lines


def merge_meals(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries in order, meals of one day that stand together made one: nobody reads forty lines of one."""
    merged: list[Entry] = []
    for entry in sorted(entries, key=_order):
        last = merged[-1] if merged else None
        if last and last.kind is entry.kind is EntryKind.FED and last.on == entry.on:
            merged[-1] = replace(entry, number=last.number + entry.number)
        else:
            merged.append(entry)
    return merged


def _order(entry: Entry) -> tuple[date, datetime, int]:
    return entry.on, entry.at, entry.ref or 0


def _change(entry: Entry, balance: int) -> int:
    if entry.kind is EntryKind.COUNTED:
        return entry.number - balance
    return entry.number if entry.kind in COMES else -entry.number
