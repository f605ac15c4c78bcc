"""The accepted drafts of a plan into the database, in bulk and with their history; and all of it out again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.db import connection, models
from django.utils import timezone

from collection.dues import chunks
from collection.importing.drafts import Draft
from collection.models import Specimen

AT_ONCE = 1000  # rows written together: bounds the memory, whatever the size of the file


class BuiltOn(Exception):
    """Says, in a sentence, what was built on an import since, so that it cannot be taken back as a whole."""


class Writer:
    """Writes accepted drafts as they come, in bulk and with their history. Use it inside a transaction."""

    def __init__(self, reason: str, user: User | None) -> None:
        self.reason, self.user = reason, user
        self.wrote: list[type[models.Model]] = []
        self.animals: dict[int, None] = {}
        self._waiting: list[Draft] = []

    def add(self, draft: Draft) -> None:
        """Take a draft; what has gathered is written from time to time."""
        self._waiting.append(draft)
        if len(self._waiting) >= AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Write what has gathered, referred-to records first."""
        creates: dict[type[models.Model], dict[int, models.Model]] = defaultdict(dict)
        updates: dict[type[models.Model], dict[Any, models.Model]] = defaultdict(dict)
        columns: dict[type[models.Model], set[str]] = defaultdict(set)
        for draft in self._waiting:
            for record in draft.creates:
                if record._state.adding:  # a contact that an earlier row named has been written with it
                    creates[type(record)][id(record)] = record
            for record, names in draft.updates:
                updates[type(record)][record.pk] = record
                columns[type(record)].update(names)
        for model in _referred_first({*creates, *updates}):
            # Changes first: a stay must be closed before the animal can have another. Only who gets a new dam waits.
            changed, fields = list(updates[model].values()), sorted(columns[model])
            later = [record for record in changed if _waits(record)]
            self._update(model, [record for record in changed if not _waits(record)], fields)
            self._create(model, list(creates[model].values()))
            self._update(model, later, fields)
            if model not in self.wrote:
                self.wrote.append(model)
        self.animals.update((specimen.pk, None) for draft in self._waiting for specimen in draft.specimens)
        self._waiting.clear()

    def _create(self, model: type[models.Model], records: list[models.Model]) -> None:
        """In waves: whoever refers to a new record of the same model, such as its dam, is written after it."""
        while records:
            ready = [record for record in records if not _waits(record)]
            if not ready:
                raise ValueError("These records refer to each other in a circle.")
            model._default_manager.bulk_create(ready, batch_size=500)
            if keeps_history(model):
                note_history(model, [record.pk for record in ready], "+", self.reason, self.user)
            records = [record for record in records if record.pk is None]

    def _update(self, model: type[models.Model], records: list[models.Model], names: list[str]) -> None:
        if records:
            model._default_manager.bulk_update(records, names, batch_size=200)
            note_history(model, [record.pk for record in records], "~", self.reason, self.user)

    @property
    def labels(self) -> list[str]:
        """The models written, each after those it refers to."""
        return [model._meta.label_lower for model in _referred_first(set(self.wrote)) if keeps_history(model)]


def keeps_history(model: type[models.Model]) -> bool:
    """Whether a record can be taken back by itself. A bulk of readings cannot: it goes with its batch."""
    return hasattr(model, "history")


def _waits(record: models.Model) -> bool:
    """Whether it refers to a record of its own model that has no number yet."""
    near = (cached for cached in record._state.fields_cache.values() if isinstance(cached, type(record)))
    return any(one.pk is None for one in near)


def note_history(model: Any, pks: Iterable[Any], kind: str, reason: str, user: User | None) -> None:
    """Copy rows as they stand now into the history of their model, by the database itself.

    The history library makes one object a row for this; for 100,000 rows that took 14 of 37 seconds.
    """
    history = model.history.model
    quote = connection.ops.quote_name
    copied = ", ".join(quote(column.column) for column in history.tracked_fields)
    stamps = ", ".join(quote(name) for name in _STAMPS)
    sql = (
        f"INSERT INTO {quote(history._meta.db_table)} ({copied}, {stamps}) "
        f"SELECT {copied}, %s, %s, %s, %s FROM {quote(model._meta.db_table)} WHERE {quote(model._meta.pk.column)} IN "
    )
    stamped = [connection.ops.adapt_datetimefield_value(timezone.now()), reason, kind, user.pk if user else None]
    with connection.cursor() as cursor:
        for part in chunks(pks):
            cursor.execute(f"{sql}({', '.join(['%s'] * len(part))})", [*stamped, *part])


_STAMPS = ("history_date", "history_change_reason", "history_type", "history_user_id")


def _referred_first(wanted: set[type[models.Model]]) -> list[type[models.Model]]:
    """The models in an order in which each comes after those it refers to."""
    ordered: list[type[models.Model]] = []

    def visit(model: type[models.Model]) -> None:
        for column in model._meta.concrete_fields:
            target = column.related_model
            if isinstance(target, type) and target in wanted and target is not model and target not in ordered:
                visit(target)
        if model not in ordered:
            ordered.append(model)

    for model in sorted(wanted, key=lambda model: model._meta.label_lower):
        visit(model)
    return ordered


def take_back(labels: list[str], reason: str, user: User | None) -> set[int]:
    """Delete what an import created and restore what it changed; returns the animals that are left to work out anew.

    Raises BuiltOn when a record was changed since or something refers to it now. Call it inside a transaction.
    """
    written = [_Written(apps.get_model(label), reason) for label in labels]
    settled = {part.model: part.created | set(part.updated) for part in written}
    for part in written:
        part.refuse_if_changed_since()
        part.refuse_if_referred_to(settled)
    touched: set[int] = set()
    for part in reversed(written):
        touched |= part.take_back(reason, user)
    return touched - next((part.created for part in written if part.model is Specimen), set())


class _Written:
    """What an import wrote of one model, by its history."""

    def __init__(self, model: Any, reason: str) -> None:
        self.model = model
        self.history = model.history
        self.mine = self.history.filter(history_change_reason=reason)
        rows = list(self.mine.values_list(model._meta.pk.name, "history_id", "history_type"))
        self.created = {pk for pk, _, kind in rows if kind == "+"}
        self.updated = {pk: history_id for pk, history_id, kind in rows if kind == "~" and pk not in self.created}
        self.last = max((history_id for _, history_id, _ in rows), default=0)

    def refuse_if_changed_since(self) -> None:
        """What was changed and changed back since (an undo of something later) counts as unchanged."""
        later = self.history.filter(history_id__gt=self.last).values_list(self.model._meta.pk.name, flat=True)
        looked_at = {pk for pk in later.iterator() if pk in self.created or pk in self.updated}
        changed = sum(self._is_changed(pk) for pk in looked_at)
        if changed:
            raise BuiltOn(f"{self._count(changed)} of this import {_was(changed)} changed since.")

    def _is_changed(self, pk: Any) -> bool:
        of_this = {self.model._meta.pk.name: pk}
        mine = self.mine.filter(**of_this).order_by("-history_id")[0]
        now = self.history.filter(**of_this).order_by("-history_id")[0]
        names = [column.attname for column in self.history.model.tracked_fields]
        return now.history_type == "-" or any(getattr(mine, name) != getattr(now, name) for name in names)

    def refuse_if_referred_to(self, settled: dict[Any, set[Any]]) -> None:
        """What the import itself wrote is deleted or restored first, and then refers to it no more."""
        for other, column in self._referring():
            gone = settled.get(other, set())
            for part in chunks(self.created):
                rows = other._default_manager.filter(**{f"{column}__in": part}).values_list("pk", flat=True)
                left = sum(pk not in gone for pk in rows)
                if left:
                    title = other._meta.verbose_name if left == 1 else other._meta.verbose_name_plural
                    raise BuiltOn(f"{left} {title} {_was(left)} entered since for what this import brought in.")

    def _referring(self) -> Iterator[tuple[Any, str]]:
        """Models of the keeper's own records that refer to this one; derived rows are deleted with it."""
        for relation in self.model._meta.related_objects:
            if hasattr(relation.related_model, "history"):
                yield relation.related_model, relation.field.attname

    def take_back(self, reason: str, user: User | None) -> set[int]:
        """Undo the writes; returns the animals concerned."""
        touched: set[int] = set()
        undone = f"undo of {reason}"
        for part in chunks(self.created):
            records = self.model._default_manager.filter(pk__in=part)
            touched.update(_animals(records))
            note_history(self.model, part, "-", undone, user)
            self._delete_derived(part)
            records._raw_delete(records.db)  # checks and history are done above
        for part in chunks(self.updated):
            before = [self._before(pk) for pk in part]
            touched.update(_animals(before))
            names = [column.name for column in self.model._meta.concrete_fields if not column.primary_key]
            self.model._default_manager.bulk_update(before, names)
            note_history(self.model, part, "~", undone, user)
        return touched

    def _before(self, pk: Any) -> Any:
        """The record as it stood before the import."""
        rows = self.history.filter(**{self.model._meta.pk.name: pk}, history_id__lt=self.updated[pk])
        before = rows.order_by("-history_id").first()
        if before is None:
            raise BuiltOn(f"The history of a {self.model._meta.verbose_name} does not reach back before this import.")
        return before.instance

    def _delete_derived(self, pks: list[Any]) -> None:
        for relation in self.model._meta.related_objects:
            if relation.on_delete is models.CASCADE and not hasattr(relation.related_model, "history"):
                rows = relation.related_model._default_manager.filter(**{f"{relation.field.attname}__in": pks})
                rows._raw_delete(rows.db)

    def _count(self, number: int) -> str:
        return f"{number} {self.model._meta.verbose_name if number == 1 else self.model._meta.verbose_name_plural}"


def _was(number: int) -> str:
    return "was" if number == 1 else "were"


def _animals(records: Iterable[models.Model]) -> Iterator[int]:
    """The animals that these records are or speak of."""
    for record in records:
        if isinstance(record, Specimen):
            yield record.pk
            continue
        for column in record._meta.concrete_fields:
            value = getattr(record, column.attname)
            if column.related_model is Specimen and value is not None:
                yield value
