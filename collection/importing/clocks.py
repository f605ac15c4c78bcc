"""Instants in a column: its dates, its times of day, and the zone of the clock that wrote them, which is asked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils import timezone

from collection.spreadsheets.cells import Cell, Misread, shortened, text_of
from collection.spreadsheets.clocktimes import read_clock
from collection.spreadsheets.datecolumns import DateFormat

HOUSE, UTC, STANDARD = "house", "utc", "standard"


def zones() -> dict[str, tuple[str, dt.tzinfo]]:
    """The zones that a logger's clock may keep: the wall's, the wall's without summer time, or UTC."""
    house = ZoneInfo(str(timezone.get_current_timezone()))
    year = timezone.localtime().year
    offsets = [dt.datetime(year, month, 1, tzinfo=house).utcoffset() or dt.timedelta(0) for month in (1, 7)]
    return {
        HOUSE: (f"the clock on the wall here ({house.key}), with summer time", house),
        STANDARD: ("the clock on the wall in winter, all year", dt.timezone(min(offsets))),
        UTC: ("UTC", dt.UTC),
    }


@dataclass(frozen=True)
class InstantReader:
    """Reads cells of one column as seconds since 1970."""

    dates: DateFormat
    zone: dt.tzinfo

    def read(self, cell: Cell) -> int | None:
        """The instant, None for an empty cell. Raises Misread for a date without a time, and for no date at all."""
        when = self.dates.read(cell)
        if when is None:
            return None
        clock = read_clock(cell)
        if clock is None or not when.exact:
            raise Misread(f"“{shortened(text_of(cell))}” is no instant: it needs a day and a time of day.")
        moment = dt.datetime.combine(when.earliest, clock[0])
        zone = dt.timezone(clock[1]) if clock[1] is not None else self.zone
        return int(moment.replace(tzinfo=zone).timestamp())


def example(dates: DateFormat, cells: Sequence[Cell], zone: dt.tzinfo) -> str:
    """What the first readable cell comes to in this zone, on the clock of the house."""
    for cell in cells:
        try:
            instant = InstantReader(dates, zone).read(cell)
        except Misread:
            continue
        if instant is not None:
            here = dt.datetime.fromtimestamp(instant, timezone.get_current_timezone())
            return f"{text_of(cell) if isinstance(cell, str) else cell} was {here:%H:%M} here"
    return ""
