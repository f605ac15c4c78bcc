"""The books of the feeders, read from what was entered and from the meals that came out of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime, time
from typing import Any

from django.db.models import Sum
from django.utils import timezone

from husbandry import prey
from husbandry.feeder_ledger import Entry, EntryKind, Line, book, merge_meals
from husbandry.models import FeederEntry, FeederStock, Feeding
from husbandry.models.care import USED


class Books:
    """The books of some feeders, each from its last count on, or whole. Two questions for the entries, two for meals.

    A book begins with its first entry: what was fed before that came from nowhere that is on record.
    """

    def __init__(self, stocks: Iterable[FeederStock], *, whole: bool = False) -> None:
        self.stocks = list(stocks)
        ids = [stock.pk for stock in self.stocks]
        rows = FeederEntry.objects.filter(stock__in=ids).select_related("contact").order_by("on", "logged_at", "id")
        self.entries: dict[int, list[FeederEntry]] = {pk: [] for pk in ids}
        for row in rows:
            self.entries[row.stock_id].append(row)
        self.counted = {pk: _last_count(found) for pk, found in self.entries.items()}
        begun = {pk: found for pk, found in self.entries.items() if found}
        begins = {pk: found[0] if whole else self.counted[pk] or found[0] for pk, found in begun.items()}
        fed = _fed(self.stocks, begins)
        self.lines = {pk: _lines(self.entries[pk], fed[pk], begins.get(pk)) for pk in ids}

    def left(self, stock: FeederStock) -> int:
        """How many the book says are there."""
        lines = self.lines[stock.pk]
        return lines[-1].balance if lines else 0


def _last_count(entries: Sequence[FeederEntry]) -> FeederEntry | None:
    return next((entry for entry in reversed(entries) if entry.kind == EntryKind.COUNTED.value), None)


def _lines(entries: Sequence[FeederEntry], fed: Sequence[Entry], start: FeederEntry | None) -> list[Line]:
    if start is None:
        return []
    first = (start.on, start.logged_at)
    written = [Entry(e.on, e.logged_at, EntryKind(e.kind), e.number, e.pk) for e in entries]
    return book(merge_meals(entry for entry in (*written, *fed) if (entry.on, entry.at) >= first))


def _fed(stocks: Sequence[FeederStock], begins: dict[int, FeederEntry]) -> dict[int, list[Entry]]:
    """The meals of each feeder since its book begins: a line a day, and single ones on days with other entries."""
    found: dict[int, list[Entry]] = defaultdict(list)
    if not begins:
        return found
    since = min(entry.on for entry in begins.values())
    busy = set(FeederEntry.objects.filter(stock__in=begins, on__gte=since).values_list("on", flat=True))
    known = [(stock.pk, stock.kind, stock.mm) for stock in stocks if stock.pk in begins]
    source: dict[tuple[str, float | None], int | None] = {}
    for on, at, kind, mm, number in (*_by_day(since, busy), *_one_by_one(busy)):
        if (kind, mm) not in source:
            source[kind, mm] = prey.match(kind, mm, known)
        stock = source[kind, mm]
        if stock is not None:
            found[stock].append(Entry(on, at, EntryKind.FED, number))
    return found


def _meals() -> Any:
    return Feeding.objects.filter(outcome__in=USED).exclude(prey="").order_by()


def _by_day(since: date, busy: Collection[date]) -> Iterable[tuple[date, datetime, str, float | None, int]]:
    rows = _meals().filter(on__gte=since).exclude(on__in=busy).values_list("on", "prey", "prey_mm")
    for on, kind, mm, number in rows.annotate(n=Sum("number")):
        yield on, timezone.make_aware(datetime.combine(on, time.max)), kind, mm, number


def _one_by_one(days: Collection[date]) -> Iterable[tuple[date, datetime, str, float | None, int]]:
    rows: Iterable[tuple[date, datetime, str, float | None, int]] = (
        _meals().filter(on__in=days).values_list("on", "logged_at", "prey", "prey_mm", "number")
    )
    return rows
