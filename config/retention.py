"""Which daily backups are worth their room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime

DAILY, WEEKLY, MONTHLY = 7, 4, 12


def superfluous(made: Iterable[datetime]) -> set[datetime]:
    """Return the moments that no rule keeps.

    Kept is the newest of each of the last 7 days, 4 ISO weeks and 12 months that have one; a gap of a month therefore
    never empties the shelf.

    >>> superfluous([datetime(2026, 12, 4, 3), datetime(2026, 12, 4, 9)])
    {datetime.datetime(2026, 12, 4, 3, 0)}
    """
    moments = sorted(made, reverse=True)
    kept = _newest_of_each(moments, lambda moment: moment.date(), DAILY)
    kept |= _newest_of_each(moments, lambda moment: moment.isocalendar()[:2], WEEKLY)
    kept |= _newest_of_each(moments, lambda moment: (moment.year, moment.month), MONTHLY)
    return set(moments) - kept


def _newest_of_each(newest_first: Sequence[datetime], period: Callable[[datetime], object], most: int) -> set[datetime]:
    kept: dict[object, datetime] = {}
    for moment in newest_first:
        if len(kept) < most:
            kept.setdefault(period(moment), moment)
    return set(kept.values())
