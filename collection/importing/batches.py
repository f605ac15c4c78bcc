"""A file from its arrival to its undoing: received, columns and questions settled, previewed, committed, taken back."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils import timezone

from collection import dues
from collection.importing import kinds, plans, writing
from collection.importing.drafts import Job, Outcome
from collection.importing.plans import NotReady, Plan, Tally
from collection.importing.readers import PICKED, Decisions, decide
from collection.importing.writing import Writer
from collection.models import ImportBatch, ImportMapping
from collection.spreadsheets.columns import guess_columns, mapping_key
from collection.spreadsheets.tables import Table, read_table

SAMPLE_ROWS = 200
KEPT_DAYS = 14  # a file that was never committed is thrown away after this time
State = ImportBatch.State
OPEN = [State.RECEIVED, State.PREVIEWED]
SHOWN = ["rows", "counts", "plan_hash", "notes"]
CONTRADICTS = "A row contradicts a record that was entered meanwhile. Nothing was written."


__all__ = ["CannotImport", "NotReady", "commit", "preview", "receive", "undo", "write_unseen"]


class CannotImport(Exception):
    """A commit or an undo that is refused, with a sentence."""


def receive(data: bytes, filename: str, kind: str, user: User | None, today: date, sheet: str = "") -> ImportBatch:
    """Keep a file that reads as a table, with a guess at its columns. Raises Unreadable for any other file."""
    table = read_table(data, filename, sheet)
    forget_old(today)
    digest = hashlib.sha256(data).hexdigest()
    waiting = ImportBatch.objects.filter(sha256=digest, kind=kind, state__in=OPEN).first()
    if waiting is not None:
        return waiting  # browsers send a form again by themselves, and so do people
    batch = ImportBatch(
        kind=kind,
        filename=filename[-200:],
        sha256=digest,
        data=data,
        sheet=table.sheet[:100],
        as_of=today,
        user=user,
        at=timezone.now(),
    )
    suggest(batch, table)
    batch.save()
    return batch


def forget_old(today: date) -> None:
    """Throw away files that were left lying without being committed."""
    left = ImportBatch.objects.filter(state__in=OPEN)
    left.filter(at__date__lt=today - timedelta(days=KEPT_DAYS)).delete()


def suggest(batch: ImportBatch, table: Table) -> None:
    """Columns as they were understood when these headings came last, else as the headings say."""
    remembered = ImportMapping.objects.filter(kind=batch.kind, headings_hash=_headings_hash(table)).first()
    if remembered is not None:
        batch.columns, batch.answers = remembered.columns, remembered.answers
        return
    names = {field.name for field in kinds.known[batch.kind].fields}
    guessed = guess_columns(table.headings, table.rows[:SAMPLE_ROWS], batch.kind)
    batch.columns = {name: index for name, index in guessed.items() if name in names}


def table_of(batch: ImportBatch) -> Table:
    """The file of a batch that is not committed yet."""
    if batch.data is None:
        raise CannotImport("This file is in the collection already.")
    return read_table(bytes(batch.data), batch.filename, batch.sheet)


def choose_sheet(batch: ImportBatch, sheet: str) -> Table:
    """Read another sheet of the workbook, and guess its columns."""
    batch.sheet = sheet
    table = table_of(batch)
    batch.answers = {}
    suggest(batch, table)
    batch.save(update_fields=["sheet", "columns", "answers"])
    return table


def job_of(batch: ImportBatch, today: date) -> Job:
    """What holds for every row of the batch."""
    return Job(batch.kind, today, min(batch.as_of, today), batch.new_group, frozenset(batch.columns))


def open_questions(batch: ImportBatch, table: Table, today: date) -> Decisions:
    """What the columns cannot decide by themselves."""
    return decide(kinds.known[batch.kind].fields, table, batch.columns, batch.answers, today)


def settle(batch: ImportBatch, table: Table, columns: Mapping[str, int], answers: Mapping[str, str]) -> None:
    """Keep the keeper's choices with the batch, and for the next file with these headings."""
    batch.columns, batch.answers = dict(columns), dict(answers)
    batch.state, batch.plan_hash = State.RECEIVED.value, ""
    batch.save(update_fields=["columns", "answers", "as_of", "new_group", "state", "plan_hash"])
    ImportMapping.objects.update_or_create(
        kind=batch.kind,
        headings_hash=_headings_hash(table),
        defaults={"columns": batch.columns, "answers": _lasting(batch.answers), "used_at": timezone.now()},
    )


def _lasting(answers: Mapping[str, str]) -> dict[str, str]:
    """Answers that hold for the next file with these headings too."""
    return {question: answer for question, answer in answers.items() if not question.startswith(PICKED)}


def _headings_hash(table: Table) -> str:
    return hashlib.sha256(mapping_key(table.headings).encode()).hexdigest()


def plan_of(batch: ImportBatch, today: date) -> Plan:
    """The rows as they would be written. Raises plans.NotReady while something is missing."""
    return Plan(table_of(batch), batch.columns, batch.answers, job_of(batch, today))


def preview(batch: ImportBatch, today: date) -> None:
    """Work every row out and keep what the keeper is shown, with its hash. Raises NotReady."""
    plan = plan_of(batch, today)
    _show(batch, plans.dry_run(plan), plan)
    batch.state = State.PREVIEWED.value
    batch.save(update_fields=[*SHOWN, "state"])


def _show(batch: ImportBatch, tally: Tally, plan: Plan) -> None:
    batch.rows, batch.counts, batch.plan_hash, batch.notes = tally.shown, tally.said, tally.hash, plan.notes


def commit(batch: ImportBatch, plan_hash: str, user: User | None, today: date) -> ImportBatch:
    """Write exactly what was previewed, in one transaction; a second call for the same preview changes nothing.

    Raises CannotImport when the collection has changed so that the rows would be written otherwise than shown.
    """
    plan = plan_of(batch, today) if batch.state == State.PREVIEWED else None
    try:
        with transaction.atomic():
            fresh = ImportBatch.objects.select_for_update().defer("rows", "data").get(pk=batch.pk)
            if fresh.state == State.COMMITTED and fresh.plan_hash == plan_hash:
                return fresh  # the same form came twice: the first one has written it
            if plan is None or fresh.state != State.PREVIEWED or fresh.plan_hash != plan_hash:
                raise CannotImport("This preview is no longer the latest one. Look at it again before it is written.")
            _write(fresh, plan, user, plan_hash)
            return fresh
    except _OtherwiseThanShown:
        preview(batch, today)
        raise CannotImport("The collection has changed since this preview. This is the new one: look again.") from None
    except IntegrityError:
        raise CannotImport(CONTRADICTS) from None


def write_unseen(batch: ImportBatch, user: User | None, today: date, *, all_or_nothing: bool) -> None:
    """Write a file without a preview, in one pass; for the command line, where nobody looks between.

    Raises NotReady; CannotImport when `all_or_nothing` is asked for and a row is refused.
    """
    plan = plan_of(batch, today)
    try:
        with transaction.atomic():
            tally = _write(batch, plan, user)
            _show(batch, tally, plan)
            if all_or_nothing and tally.counts[Outcome.REFUSED.value]:
                refused = tally.counts[Outcome.REFUSED.value]
                raise CannotImport(f"Nothing was written: {refused} row{'s were' if refused > 1 else ' was'} refused.")
            batch.save(update_fields=SHOWN)
    except IntegrityError:
        raise CannotImport(CONTRADICTS) from None


class _OtherwiseThanShown(Exception):
    """Rolls a commit back whose writes are not those of the preview."""


def _write(batch: ImportBatch, plan: Plan, user: User | None, plan_hash: str = "") -> Tally:
    """Write the rows one after the other; the last of them tells whether they were what the preview showed."""
    tally, writer = Tally(), Writer(batch.reason, user)
    for draft in plan.drafts():
        tally.add(draft)
        if draft.outcome in {Outcome.NEW, Outcome.CHANGED}:
            writer.add(draft)
    writer.flush()
    if plan_hash and tally.hash != plan_hash:
        raise _OtherwiseThanShown
    _work_out(batch, writer.animals)
    batch.wrote = writer.labels
    batch.state, batch.committed_at, batch.data = State.COMMITTED.value, timezone.now(), None
    batch.save(update_fields=["wrote", "state", "committed_at", "data"])
    return tally


def _work_out(batch: ImportBatch, animals: Iterable[int]) -> None:
    """All that is derived from what was written or taken out."""
    for importer in kinds.known[batch.kind].importers:
        importer.afterwards()
    dues.refresh(animals)


def undo(batch: ImportBatch, user: User | None) -> None:
    """Take back all that a batch wrote, unless something was built on it since. Raises CannotImport."""
    with transaction.atomic():
        fresh = ImportBatch.objects.select_for_update().get(pk=batch.pk)
        if fresh.state != State.COMMITTED:
            raise CannotImport("This import was taken back already, or never written.")
        try:
            touched = writing.take_back(fresh.wrote, fresh.reason, user)
        except writing.BuiltOn as problem:
            raise CannotImport(f"{problem} Take that back first, or correct single animals by hand.") from None
        _work_out(fresh, touched)
        fresh.state, fresh.undone_at = State.UNDONE.value, timezone.now()
        fresh.save(update_fields=["state", "undone_at"])
    batch.refresh_from_db()
