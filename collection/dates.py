"""Keeper dates of reduced precision, and dates as a keeper reads them.

Form of the text: ISO 8601-1:2019 (reduced precision 5.2.2.2, intervals 5.5). A date that is known only to the
month stays a month; nothing here reads a clock, "today" is always an argument.
"""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Self

# Not calendar.month_name: that one follows the locale of the machine, and the pages are in English.
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
DAYS_SAID_AS_DAYS = 60  # longer than this a count of days no longer says anything
MONTHS_SAID_AS_MONTHS = 24
DAYS_A_MONTH = 365.2425 / 12
ISO = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?", re.ASCII)
HINT = "Write a date as 2025-03-14, 2025-03, 2025 or 2025-03-01/2025-03-15."


@dataclass(frozen=True, order=True)
class FuzzyDate:
    """A date known to lie between two days, both included."""

    earliest: date
    latest: date

    def __post_init__(self) -> None:
        """Refuse a range that runs backwards."""
        if self.earliest > self.latest:
            raise ValueError(f"The range ends before it begins: {self.earliest} is after {self.latest}.")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ISO 8601: a day, a month, a year, or two of them with "/" between; ValueError says what to write."""
        first, slash, last = text.strip().partition("/")
        earliest, latest = _span(first)
        return cls(earliest, _span(last)[1] if slash else latest)

    @classmethod
    def on(cls, day: date) -> Self:
        """Return the exact date `day`."""
        return cls(day, day)

    @property
    def exact(self) -> bool:
        """Say whether the day itself is known."""
        return self.earliest == self.latest

    @property
    def days(self) -> int:
        """Return the uncertainty in days: 0 for an exact date, 30 for a March."""
        return (self.latest - self.earliest).days

    @property
    def middle(self) -> date:
        """Return the day in the middle, the earlier of two."""
        return self.earliest + timedelta(days=self.days // 2)

    @property
    def precision(self) -> str:
        """Return "day", "month", "year" or "range": what was written."""
        first, last = self.earliest, self.latest
        if self.exact:
            return "day"
        if (first.year, first.month, first.day) == (last.year, last.month, 1) and last == _month_end(last):
            return "month"
        return "year" if (first, last) == (date(first.year, 1, 1), date(first.year, 12, 31)) else "range"

    def __str__(self) -> str:
        """Return the shortest ISO form that says the same."""
        whole = self.earliest.isoformat()
        short = {"day": whole, "month": whole[:7], "year": whole[:4]}
        return short.get(self.precision, f"{whole}/{self.latest.isoformat()}")


def say_days(n: int) -> str:
    """Return how long ago `n` days are (negative: to come), in a keeper's words."""
    near = {0: "today", 1: "yesterday", -1: "tomorrow"}
    if n in near:
        return near[n]
    return f"{say_length(n)} ago" if n > 0 else f"in {say_length(-n)}"


def say_length(days: int) -> str:
    """Return a length of time in the unit that still says something: "41 days", "7 months", "3 years"."""
    if days <= DAYS_SAID_AS_DAYS:
        return "1 day" if days == 1 else f"{days} days"
    months = round(days / DAYS_A_MONTH)
    return f"{months} months" if months < MONTHS_SAID_AS_MONTHS else f"{round(days / DAYS_A_MONTH / 12)} years"


def say_date(when: date | FuzzyDate, today: date | None = None) -> str:
    """Return "4 December", with the year when it is not this one (or always, without `today`).

    A reduced date keeps its precision: "March 2025", "2025", "1 March to 15 March".
    """
    if not isinstance(when, FuzzyDate):
        return f"{when.day} {MONTHS[when.month - 1]}" + _year(when, today)
    if when.precision == "year":
        return f"{when.earliest.year}"
    if when.precision == "month":
        return MONTHS[when.earliest.month - 1] + _year(when.earliest, today)
    first, last = say_date(when.earliest, today), say_date(when.latest, today)
    return first if when.exact else f"{first} to {last}"


def _year(day: date, today: date | None) -> str:
    return "" if today is not None and day.year == today.year else f" {day.year}"


def _month_end(day: date) -> date:
    return day.replace(day=monthrange(day.year, day.month)[1])


def _span(text: str) -> tuple[date, date]:
    found = ISO.fullmatch(text.strip())
    if not found:
        raise ValueError(f"“{text.strip()}” is not a date. {HINT}")
    year, month, day = found.groups()
    try:
        first = date(int(year), int(month or 1), int(day or 1))
    except ValueError:
        raise ValueError(f"There is no day {text.strip()} in the calendar. {HINT}") from None
    if day:
        return first, first
    return first, _month_end(first if month else first.replace(month=12))
