"""How the feeders stand: what the books say is there, what the coming weeks need, when each runs out.

Reading the next feed of every animal is work for a page of its own; the dashboard asks for no more than the outlook of
the last quarter of an hour, unless a book was written since. A meal in between changes little: it was expected.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from time import monotonic
from typing import Any

from django.db.models import Count, F, OuterRef, Q, Subquery
from django.db.models.fields.json import KT
from django.db.models.functions import JSONObject

from collection.models import Due, GroupCount
from husbandry import demand, prey, rhythm
from husbandry.demand import CONFIDENCE, DAYS, Mouth, Need, Outlast, Prey
from husbandry.feeder_books import Books
from husbandry.feeder_ledger import EntryKind
from husbandry.models import FeederEntry, FeederStock, Feeding, Hold

HOUSE_DAYS = 60  # what the share of offers taken is counted over
FRESH_SECONDS = 900.0
SHOP_DAYS = 7  # from one shopping day to the next, unless said otherwise
NOTHING = Outlast(None, None)


@dataclass(frozen=True)
class Standing:
    """How one feeder stands: by the book, how that is known, what is wanted of it, how long it lasts."""

    stock: FeederStock
    left: int
    counted: FeederEntry | None
    need: Need | None
    outlast: Outlast
    price: Decimal | None  # of one, at the last purchase with a cost
    culture: GroupCount | None

    def wanted(self, days: int, confidence: float = CONFIDENCE) -> int:
        """How many suffice for so many days."""
        return self.need.stock(days, confidence) if self.need else 0

    def short(self, days: int, confidence: float = CONFIDENCE) -> int:
        """How many are missing for that."""
        return max(self.wanted(days, confidence) - max(self.left, 0), 0)

    def cost(self, number: int) -> Decimal | None:
        """What so many cost at the last price; nothing is known of it for what is bred here."""
        return self.price * number if self.price is not None and self.culture is None else None

    @property
    def low(self) -> bool:
        """Whether it may not last until the next shopping day."""
        return self.short(SHOP_DAYS) > 0


@dataclass(frozen=True)
class Outlook:
    """All feeders that are kept, and what is wanted and has no book."""

    on: date
    standings: list[Standing]
    strangers: list[Need]
    mouths: int
    unknown: int  # animals that are fed in this time, and of which no prey is on record

    def shopping(self, days: int) -> list[tuple[Standing, int]]:
        """What is missing so that each feeder suffices for so many days."""
        return [(one, short) for one in self.standings if (short := one.short(days))]


def look(today: date, *, whole: bool = True) -> Outlook:
    """Work the outlook out anew; unless `whole`, nothing is asked of the animals where no feeder has a book."""
    stocks = list(FeederStock.objects.filter(kept=True).select_related("culture__standing"))
    if not stocks and not whole:
        return Outlook(today, [], [], 0, 0)
    found = list(mouths(today))
    known = [(stock.pk, stock.kind, stock.mm) for stock in stocks]
    fed = [mouth for mouth in found if mouth.prey.kind]
    source = {one: prey.match(one.kind, one.mm, known) for one in {mouth.prey for mouth in fed}}
    names = {stock.pk: Prey(stock.kind, stock.mm) for stock in stocks}
    ours = demand.forecast(m._replace(prey=names[pk]) for m in fed if (pk := source[m.prey]) is not None)
    needs = {need.prey: need for need in ours}
    strangers = demand.forecast(mouth for mouth in fed if source[mouth.prey] is None)
    books, cultures = Books(stocks), _cultures(stocks)
    standings = [_standing(stock, books, needs.get(names[stock.pk]), cultures) for stock in stocks]
    return Outlook(today, standings, strangers, len(found), len(found) - len(fed))


def _standing(stock: FeederStock, books: Books, need: Need | None, cultures: dict[int, GroupCount]) -> Standing:
    left = books.left(stock)
    bought = [e for e in books.entries[stock.pk] if e.cost is not None and e.kind == EntryKind.BOUGHT.value]
    last = bought[-1] if bought else None
    return Standing(
        stock=stock,
        left=left,
        counted=books.counted[stock.pk],
        need=need,
        outlast=need.lasts(left) if need else NOTHING,
        price=last.cost / last.number if last and last.cost is not None else None,
        culture=cultures.get(stock.culture_id or 0),
    )


def _cultures(stocks: list[FeederStock]) -> dict[int, GroupCount]:
    """The last estimate of each culture that feeders are bred in."""
    ids = [stock.culture_id for stock in stocks if stock.culture_id]
    rows = GroupCount.objects.filter(specimen__in=ids).order_by("earliest", "id")
    return {row.specimen_id: row for row in rows}


def mouths(today: date, days: int = DAYS) -> Iterator[Mouth]:
    """Every animal that is fed within so many days, with what it took last; its prey is empty where none is known."""
    rates = _house_rate(today)
    planned = _planned(today, days)
    last = Feeding.objects.filter(specimen=OuterRef("specimen")).exclude(prey="").order_by("-on", "-id")
    meal = Subquery(last.values(said=JSONObject(prey=F("prey"), mm=F("prey_mm"), number=F("number")))[:1])
    dues = Due.objects.filter(kind="feed", due_on__lt=today + timedelta(days=days))
    rows = dues.annotate(meal=meal, every=KT("facts__interval"), refused=KT("facts__refusals"))
    chances: dict[int, float] = {}
    for pk, due_on, found, every, refused in rows.values_list("specimen", "due_on", "meal", "every", "refused"):
        eaten: dict[str, Any] = found or {"prey": "", "mm": None, "number": 1}
        interval, refusals = int(every), int(refused or 0)
        if refusals not in chances:
            chances[refusals] = demand.acceptance(*rates, refusals)
        yield Mouth(
            prey=Prey(eaten["prey"], eaten["mm"]),
            number=eaten["number"],
            first=max(((due_on or today) - today).days, 0),
            interval=interval,
            retry=rhythm.retry_days(interval),
            acceptance=chances[refusals],
            held=planned.get(pk),
        )


def _house_rate(today: date) -> tuple[int, int]:
    """Offers taken, and all offers, of the last weeks."""
    offers = Feeding.objects.filter(on__gte=today - timedelta(days=HOUSE_DAYS))
    counted = offers.aggregate(taken=Count("pk", filter=Q(outcome="taken")), offers=Count("pk"))
    return counted["taken"], counted["offers"]


def _planned(today: date, days: int) -> dict[int, tuple[int, int]]:
    """Holds that will begin within so many days, as days from today."""
    rows = Hold.objects.filter(begins__gt=today, begins__lt=today + timedelta(days=days))
    return {
        pk: ((begins - today).days, (ends - today).days if ends else days)
        for pk, begins, ends in rows.values_list("specimen_id", "begins", "ends")
    }


_lock = threading.Lock()
_kept: tuple[float, Outlook] | None = None


def forget() -> None:
    """A book was written: the outlook that is kept in mind no longer holds."""
    global _kept
    with _lock:
        _kept = None


def recent(today: date) -> Outlook:
    """The outlook of the last quarter of an hour."""
    with _lock:
        kept = _kept
    if kept is not None and kept[1].on == today and monotonic() - kept[0] < FRESH_SECONDS:
        return kept[1]
    return fresh(today, whole=False)


def fresh(today: date, *, whole: bool = True) -> Outlook:
    """The outlook of now, kept in mind for the dashboard."""
    global _kept
    found = look(today, whole=whole)
    with _lock:
        _kept = (monotonic(), found)
    return found
