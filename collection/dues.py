"""The one place that writes derived rows: standings and stored due dates.

Every service that writes an event calls `refresh` for the animals it touched, inside the same transaction. The command
`rebuild_dues` calls it for all; a property test compares the two.
"""

import time
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from itertools import islice
from typing import NamedTuple

from django.db import connection, transaction

from collection import attention, forecasts, standing
from collection.attention import StoredDue
from collection.models import Due, Specimen, Standing

CHUNK = 400
GAP = 0.12  # seconds


def chunks(ids: Iterable[int], size: int = CHUNK) -> Iterator[list[int]]:
    """The ids in lists that one query can name."""
    rest = iter(ids)
    while part := list(islice(rest, size)):
        yield part


def refresh(specimen_ids: Iterable[int], only: Collection[str] = ()) -> None:
    """Work out standing and due dates of these animals anew, and the due dates of others that hang on theirs.

    `only` names the kinds that an event can move when it changes nothing that the animal is: a meal moves the next
    feed, not sex or stage. The kinds named must not stand in for the events of other animals.
    """
    ids = dict.fromkeys(specimen_ids)
    if only:
        for kind in (kind for kind in attention.kinds() if kind.name in only):
            for part in chunks(ids):
                _store(kind.name, part, list(kind.work_out(part)))
        return
    _refresh_all_of(ids)
    for derive in attention.derived.values():
        derive(list(ids))


def _refresh_all_of(ids: dict[int, None]) -> None:
    """Standings and dues of these animals, and the dues that hang on theirs.

    Each part is read and written under one lock: what is logged while all are worked out anew would else be lost from
    the derived rows until the next time.
    """
    others: dict[str, set[int]] = {kind.name: set() for kind in attention.kinds()}
    for number, part in enumerate(chunks(ids)):
        if number:
            _let_others_write()
        with transaction.atomic(savepoint=False):
            standing.rebuild(part)
            for kind in attention.kinds():
                _store(kind.name, part, list(kind.work_out(part)))
                others[kind.name].update(kind.moves(part))
            forecasts.refresh(part)
    for kind in attention.kinds():
        for part in chunks(sorted(others[kind.name] - ids.keys())):
            with transaction.atomic(savepoint=False):
                _store(kind.name, part, list(kind.work_out(part)))


def _let_others_write() -> None:
    """Between two parts, longer than whoever waits for the lock sleeps before asking again (SQLite: 100 ms)."""
    if not connection.in_atomic_block:
        time.sleep(GAP)


def reweigh(specimen_ids: Iterable[int]) -> list[int]:
    """Weigh the evidence of these animals anew; only where that changes more than a chance does the rest follow.

    For a change that touches thousands at once. Returns the animals that were worked out in full.
    """
    moved: list[int] = []
    for part in chunks(dict.fromkeys(specimen_ids)):
        before = _sexed(part)
        standing.rebuild(part)
        after = _sexed(part)
        moved += [pk for pk in part if before.get(pk) != after.get(pk) or (pk in after and after[pk].conflict)]
    refresh(moved)
    return moved


class Sexed(NamedTuple):
    """What follows from the evidence of sex besides the chance itself; nothing else hangs on that."""

    sex: str
    conflict: bool
    stage: str
    mature_since: date | None
    molt_begins: date | None
    molt_likely: date | None
    molt_ends: date | None


def _sexed(ids: Sequence[int]) -> dict[int, Sexed]:
    columns = ("sex", "sex_conflict", *Sexed._fields[2:])
    rows = Standing.objects.filter(specimen__in=ids).values_list("specimen_id", *columns)
    return {pk: Sexed(*values) for pk, *values in rows}


def refresh_all() -> int:
    """Work everything out anew, and clear what no kind asks for any more; returns the number of animals.

    How wide the windows of forecasts must be is judged here alone, so that it moves all animals or none.
    """
    ids = list(Specimen.objects.order_by("id").values_list("id", flat=True))
    Due.objects.exclude(kind__in=list(attention.due_kinds)).delete()
    _refresh_all_of(dict.fromkeys(ids))
    if forecasts.review():
        _refresh_all_of(dict.fromkeys(ids))
    for derive in attention.derived.values():
        with transaction.atomic():
            derive(None)
    return len(ids)


def _store(kind: str, ids: Sequence[int], wanted: list[StoredDue]) -> None:
    """Make the stored rows of one kind equal to what was worked out."""
    Due.objects.filter(kind=kind, specimen_id__in=ids).exclude(
        specimen_id__in=[due.specimen_id for due in wanted]
    ).delete()
    Due.objects.bulk_create(
        [
            Due(
                specimen_id=due.specimen_id,
                kind=kind,
                wanted_on=due.wanted_on,
                due_on=due.due_on,
                ends_on=due.ends_on,
                facts=due.facts,
            )
            for due in wanted
        ],
        update_conflicts=True,
        unique_fields=["specimen", "kind"],
        update_fields=["wanted_on", "due_on", "ends_on", "facts"],
    )


def as_stored(due: Due) -> StoredDue:
    """A row as the plain value that the kind's sentence is said from."""
    return StoredDue(due.specimen_id, due.wanted_on, due.due_on, due.facts, due.ends_on)
