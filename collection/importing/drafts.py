"""What one row of a file would write, worked out before anything is written."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any

from django.db import models

from collection.dates import FuzzyDate
from collection.models import Specimen
from collection.models.base import fuzzy

VOLATILE = frozenset(["id", "tag", "key", "entered_at", "logged_at"])  # drawn or stamped anew at each run


class Outcome(StrEnum):
    """What becomes of a row."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    REFUSED = "refused"


@dataclass(slots=True)
class Draft:
    """One row: what it is about, what it would write, and what is to be said of it.

    `creates` holds new records; one that several rows share, such as a contact, stands in the draft of each of them.
    `updates` holds records on file with their changed fields.
    """

    number: int
    label: str = ""
    known: bool = False
    problems: list[str] = field(default_factory=list)
    says: list[str] = field(default_factory=list)
    creates: list[models.Model] = field(default_factory=list)
    updates: list[tuple[models.Model, tuple[str, ...]]] = field(default_factory=list)
    specimens: list[Specimen] = field(default_factory=list)
    ended: date | None = None  # the day after which nothing can happen to the animal any more

    @property
    def outcome(self) -> Outcome:
        """Refused when anything is wrong with it; nothing of a refused row is written."""
        if self.problems:
            return Outcome.REFUSED
        if not self.known:
            return Outcome.NEW
        return Outcome.CHANGED if self.creates or self.updates else Outcome.SAME

    def refuse(self, sentence: str) -> None:
        """The row cannot be taken, and why."""
        self.problems.append(sentence)

    def say(self, words: str) -> None:
        """Something the keeper should see before agreeing."""
        self.says.append(words)

    def create(self, record: models.Model, words: str = "") -> None:
        """Write a new record."""
        self.creates.append(record)
        if words:
            self.says.append(words)

    def change(self, record: models.Model, values: dict[str, Any]) -> bool:
        """Set those of the values that differ on a record on file, and say from what to what."""
        changed = {name: value for name, value in values.items() if getattr(record, name) != value}
        for name, value in changed.items():
            before = getattr(record, name)
            title = getattr(record._meta.get_field(name), "verbose_name", name)
            self.says.append(f"{title}: {_said(before)} → {_said(value)}")
            setattr(record, name, value)
        if changed:
            self.updates.append((record, tuple(changed)))
        return bool(changed)

    def redate(self, record: models.Model, prefix: str, when: FuzzyDate, words: str) -> bool:
        """Set a pair of date columns of a record on file (`hatched_earliest`, `hatched_latest`), said as one change."""
        names = (f"{prefix}earliest", f"{prefix}latest")
        before = fuzzy(getattr(record, names[0]), getattr(record, names[1]))
        if before == when:
            return False
        self.says.append(f"{words}: {before or 'nothing'} → {when}")
        setattr(record, names[0], when.earliest)
        setattr(record, names[1], when.latest)
        self.updates.append((record, names))
        return True

    @property
    def lines(self) -> list[str]:
        """What the preview says of the row: the reasons of a refusal, else what it would write."""
        return self.problems or self.says


def _said(value: Any) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


@dataclass(frozen=True)
class Job:
    """What holds for the whole file. `as_of` is the day for which undated facts (size, sex, stage) are written down."""

    kind: str
    today: date
    as_of: date
    new_group: str = ""
    fields: frozenset[str] = frozenset()

    def undated(self, not_after: FuzzyDate | None = None) -> date:
        """The day for a fact without one: as of the list, but not after the animal's end."""
        return min(self.as_of, not_after.latest) if not_after else self.as_of


def fingerprint(draft: Draft) -> str:
    """Everything a draft would write and say. By it a commit proves to be what was shown."""
    said = repr((draft.number, draft.label, draft.outcome.value, draft.problems, draft.says))
    if draft.problems:
        return said
    new = {id(record) for record in draft.creates}
    created = [_values(record, new) for record in draft.creates]
    updated = [f"{names} {_values(record, new)} {record.pk}" for record, names in draft.updates]
    return "\n".join([said, *created, *updated])


def _values(record: models.Model, new: set[int]) -> str:
    """The columns of a record; one that refers to a record of the same draft names it, for it has no number yet."""
    values = []
    for name, attname in _columns(type(record)):
        referred = record._state.fields_cache.get(name) if name != attname else None
        named = referred is not None and (id(referred) in new or isinstance(referred, Specimen))  # a dam of this file
        values.append(str(referred) if named else str(getattr(record, attname)))
    return f"{record._meta.label_lower} {values}"


@cache
def _columns(model: type[models.Model]) -> tuple[tuple[str, str], ...]:
    return tuple((column.name, column.attname) for column in model._meta.concrete_fields if column.name not in VOLATILE)
