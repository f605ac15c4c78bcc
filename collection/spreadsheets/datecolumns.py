"""Which way round the dates of one column stand, decided from all of its rows, or asked."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from collection.dates import FuzzyDate
from collection.spreadsheets.cells import Cell, Misread, is_blank
from collection.spreadsheets.datecells import (
    EPOCH_1900,
    EPOCH_1904,
    ORDER_LABELS,
    Order,
    day_of,
    read_date,
    serial_of,
    triple_of,
)

Triple = tuple[str, int, int, str]


@dataclass(frozen=True)
class DateFormat:
    """How to read the dates of one column. `orders` holds (separator, order); `note` is what the keeper should know."""

    today: dt.date
    orders: tuple[tuple[str, Order], ...] = ()
    epoch: dt.date = EPOCH_1900
    note: str = ""

    def read(self, cell: Cell) -> FuzzyDate | None:
        """The date in the cell, None when it says nothing. Raises Misread."""
        return read_date(cell, dict(self.orders), self.epoch, self.today)


@dataclass(frozen=True)
class DateOption:
    """One way to read the column, with what it makes of a cell that tells the ways apart."""

    order: Order
    label: str
    written: str
    reads: dt.date
    refused: int = 0


@dataclass(frozen=True)
class Ambiguous:
    """Every row can be read in each of these ways: the keeper must say which. Likelier first."""

    options: tuple[DateOption, ...]
    rows: int

    def settled(self, order: Order, today: dt.date) -> DateFormat:
        """The format once the keeper has said the order."""
        return forced(order, today)


@dataclass(frozen=True)
class Mixed(Ambiguous):
    """No single way reads every row; each option says how many rows it would refuse."""


DateDecision = DateFormat | Ambiguous | Mixed


def forced(order: Order, today: dt.date) -> DateFormat:
    """The format with this order whatever the separator, as said by the keeper."""
    return DateFormat(today, tuple((separator, order) for separator in "./-"))


def decide_dates(values: Iterable[Cell], today: dt.date) -> DateDecision:
    """How the dates of a column are to be read, from all of its cells.

    Real dates, ISO, month names, "2019", "03/2019" and day numbers need no decision. For three numbers one row with
    a 28 settles the column; dots mean day.month.year unless a row denies it; the undecidable is returned as a question.
    """
    triples: dict[str, list[Triple]] = defaultdict(list)
    serials = 0
    for value, times in Counter(values).items():  # long columns repeat their days
        shape = None if is_blank(value) else _shape(value)
        if isinstance(shape, tuple):
            triples[shape[0]].extend([shape] * times)
        elif shape is not None:
            serials += times
    note = ""
    if serials:
        note = f"Day numbers counted from 1900: {serials} cell{'s' if serials > 1 else ''}."
    orders: dict[str, Order] = {}
    for separator, found in triples.items():
        decided = _decide_order(separator, found, today)
        if not isinstance(decided, Order):
            return decided
        orders[separator] = decided
    return DateFormat(today, tuple(sorted(orders.items())), note=note)


def _shape(value: Cell) -> Triple | int | None:
    """Three numbers or a day number; None for all that needs no decision, a failed formula among it."""
    try:
        return triple_of(value) or serial_of(value)
    except Misread:
        return None


def _decide_order(separator: str, triples: list[Triple], today: dt.date) -> Order | Ambiguous:
    candidates = [Order.DMY, Order.MDY]
    if separator == "-" and all(len(third) == 2 for *_, third in triples):
        candidates.append(Order.YMD)
    refused = {order: sum(not _fits(triple, order, today) for triple in triples) for order in candidates}
    least = min(refused.values())
    fitting = [order for order in candidates if refused[order] == least]
    if least == 0 and len(fitting) > 1:
        if separator == "." or all(_same_day(triple, fitting, today) for triple in triples):
            return fitting[0]
        return Ambiguous(_options(triples, fitting, refused, today), len(triples))
    if least == 0 or _hopeless(triples, fitting[0], candidates, today):
        return fitting[0]
    return Mixed(_options(triples, sorted(candidates, key=lambda order: refused[order]), refused, today), len(triples))


def _fits(triple: Triple, order: Order, today: dt.date) -> bool:
    try:
        day_of(triple, order, today)
    except Misread:
        return False
    return True


def _same_day(triple: Triple, orders: list[Order], today: dt.date) -> bool:
    """True when every order means the same day, as in 03/03/2026."""
    return len({day_of(triple, order, today) for order in orders}) == 1


def _hopeless(triples: list[Triple], best: Order, candidates: list[Order], today: dt.date) -> bool:
    """True when the rows that the best order refuses are days in no order, such as 31.02.2026: slips, no mixture."""
    refused = [triple for triple in triples if not _fits(triple, best, today)]
    return not any(_fits(triple, other, today) for triple in refused for other in candidates)


def _options(
    triples: list[Triple], orders: list[Order], refused: Mapping[Order, int], today: dt.date
) -> tuple[DateOption, ...]:
    """One option an order, each reading the same telling row; an order with fewer dates after today comes first."""
    common = [triple for triple in triples if all(_fits(triple, order, today) for order in orders)]
    telling = next((triple for triple in common if not _same_day(triple, orders, today)), None)
    options = []
    for order in orders:
        shown = telling or next(triple for triple in triples if _fits(triple, order, today))
        label = ORDER_LABELS[order]
        options.append(DateOption(order, label, _written(shown), day_of(shown, order, today), refused[order]))
    return tuple(sorted(options, key=lambda option: (option.refused, _after(triples, option.order, today))))


def _after(triples: list[Triple], order: Order, today: dt.date) -> int:
    return sum(_fits(triple, order, today) and day_of(triple, order, today) > today for triple in triples)


def _written(triple: Triple) -> str:
    separator, first, second, third = triple
    return f"{first:02}{separator}{second:02}{separator}{third}"


def with_epoch(chosen: DateFormat, year: int) -> DateFormat:
    """The same format with day numbers counted from 1900 or from 1904 (older workbooks of one maker)."""
    return DateFormat(chosen.today, chosen.orders, EPOCH_1904 if year == 1904 else EPOCH_1900, chosen.note)
