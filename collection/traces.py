"""On an animal's own page: which kinds of record it has at all, asked once, and answers that several panels share.

Most animals have no sac, no picture and no open issue, yet each panel would ask its tables. Inside `of_one` a single
question tells which tables hold anything of the animal, and `some` spares the others; `shared` keeps what two panels
both need. Outside of it, and for any other animal, everything is asked as ever.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, TypeVar

from django.db import connection, models

from collection.models import (
    Departure,
    GroupCount,
    HealthIssue,
    Measurement,
    MoltSign,
    Note,
    Photo,
    Quarantine,
    SexEvidence,
    Specimen,
)

T = TypeVar("T")
Row = TypeVar("Row", bound=models.Model)


@dataclass(frozen=True)
class _Page:
    """The page of one animal: which tables hold something of it, and what was asked already."""

    specimen: int
    there: frozenset[type[models.Model]]
    told: dict[Callable[..., Any], Any] = field(default_factory=dict)


_watched: dict[type[models.Model], tuple[str, ...]] = {}
_page: ContextVar[_Page | None] = ContextVar("page", default=None)


def watch(model: type[models.Model], *fields: str) -> None:
    """Make a table known whose rows name an animal in these fields."""
    _watched[model] = fields


@contextmanager
def of_one(specimen: int) -> Iterator[None]:
    """What is read inside is the page of this animal."""
    token = _page.set(_Page(specimen, _there(specimen)))
    try:
        yield
    finally:
        _page.reset(token)


def _there(specimen: int) -> frozenset[type[models.Model]]:
    """The tables that hold anything of this animal, in one question."""
    every = list(_watched)
    quote = connection.ops.quote_name
    asked, values = [], []
    for number, model in enumerate(every):
        columns = [quote(model._meta.get_field(name).column) for name in _watched[model]]  # type: ignore[arg-type, union-attr]
        named = " OR ".join(f"{column} = %s" for column in columns)
        asked.append(f"SELECT {number} WHERE EXISTS (SELECT 1 FROM {quote(model._meta.db_table)} WHERE {named})")
        values += [specimen] * len(columns)
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(asked), values)
        return frozenset(every[number] for (number,) in cursor.fetchall())


def _here(ids: Sequence[int]) -> _Page | None:
    """The page, when it is that of the one animal asked for."""
    page = _page.get()
    return page if page is not None and list(ids) == [page.specimen] else None


def lacks(ids: Sequence[int], *tables: type[models.Model]) -> bool:
    """Whether it is known that none of these tables has a row of these animals. In doubt not."""
    page = _here(ids)
    return page is not None and all(table in _watched and table not in page.there for table in tables)


def some(ids: Sequence[int], rows: models.QuerySet[Row, T]) -> models.QuerySet[Row, T]:
    """These rows of these animals, which are not asked for where it is known that there are none.

    To be sliced, counted or gone through; what narrows or orders it further would make it a question again.
    """
    if lacks(ids, rows.model):
        rows = rows.none()
        rows._result_cache = []  # Django would work out the whole question only to find that it is empty
    return rows


def shared(ask: Callable[[Sequence[int]], T]) -> Callable[[Sequence[int]], T]:
    """Ask once on a page; what comes back is read only."""

    @wraps(ask)
    def asked(ids: Sequence[int]) -> T:
        page = _here(ids)
        if page is None:
            return ask(ids)
        if ask not in page.told:
            page.told[ask] = ask(ids)
        found: T = page.told[ask]
        return found

    return asked


for one in (Departure, GroupCount, HealthIssue, Measurement, MoltSign, Note, Photo, Quarantine, SexEvidence):
    watch(one, "specimen")
watch(Specimen, "dam", "sire")  # its young
