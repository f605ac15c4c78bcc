"""What falls due while the keeper is away: days of feeding and water, from the stored due date and the rhythm on."""

from dataclasses import dataclass
from datetime import date, timedelta

LONGEST_DAYS = 62


@dataclass(frozen=True)
class Plan:
    """One animal's days in an absence; `hands_off` says why nothing is done, and until when."""

    feed: tuple[date, ...]
    water: tuple[date, ...]
    hands_off: str = ""


def days_between(begins: date, ends: date) -> tuple[date, ...]:
    """Every day of an absence, both ends included. Errors: ValueError when it runs backwards or is too long."""
    length = (ends - begins).days
    if length < 0:
        raise ValueError("The last day lies before the first.")
    if length >= LONGEST_DAYS:
        raise ValueError(f"A sheet covers at most {LONGEST_DAYS} days.")
    return tuple(begins + timedelta(days=n) for n in range(length + 1))


def falls_on(due: date | None, interval: int | None, begins: date, ends: date) -> tuple[date, ...]:
    """The days on which something falls due; what is over already falls on the first day, then the rhythm runs on.

    `due` None means that nothing is asked for. Errors: ValueError for an interval below one day.
    """
    if due is None or due > ends:
        return ()
    if interval is None:
        return (max(due, begins),)
    if interval < 1:
        raise ValueError("A rhythm is at least one day.")
    day, days = max(due, begins), []
    while day <= ends:
        days.append(day)
        day += timedelta(days=interval)
    return tuple(days)
