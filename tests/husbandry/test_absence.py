"""What falls due while the keeper is away."""

import itertools
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from husbandry import absence

FIRST, LAST = date(2026, 12, 5), date(2026, 12, 18)
DAYS = st.dates(date(2026, 1, 1), date(2027, 12, 31))


def test_both_ends_belong_to_the_absence() -> None:
    days = absence.days_between(FIRST, LAST)
    assert (len(days), days[0], days[-1]) == (14, FIRST, LAST)


def test_an_absence_that_runs_backwards_is_refused_with_a_sentence() -> None:
    with pytest.raises(ValueError, match="before the first"):
        absence.days_between(LAST, FIRST)


def test_an_absence_too_long_for_a_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match="at most 62 days"):
        absence.days_between(FIRST, FIRST + timedelta(days=62))


def test_what_is_over_already_falls_on_the_first_day_and_then_the_rhythm_runs_on() -> None:
    assert absence.falls_on(date(2026, 11, 30), 7, FIRST, LAST) == (FIRST, date(2026, 12, 12))


def test_what_falls_due_inside_keeps_its_day() -> None:
    assert absence.falls_on(date(2026, 12, 9), 7, FIRST, LAST) == (date(2026, 12, 9), date(2026, 12, 16))


def test_what_falls_due_later_or_never_has_no_day() -> None:
    assert absence.falls_on(date(2026, 12, 19), 7, FIRST, LAST) == ()
    assert absence.falls_on(None, 7, FIRST, LAST) == ()


def test_without_a_rhythm_it_falls_due_once() -> None:
    assert absence.falls_on(date(2026, 12, 9), None, FIRST, LAST) == (date(2026, 12, 9),)


def test_a_rhythm_below_a_day_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one day"):
        absence.falls_on(FIRST, 0, FIRST, LAST)


@given(due=DAYS, interval=st.integers(1, 60), first=DAYS, length=st.integers(0, 61))
def test_days_lie_inside_the_absence_and_a_rhythm_apart(due: date, interval: int, first: date, length: int) -> None:
    last = first + timedelta(days=length)
    days = absence.falls_on(due, interval, first, last)
    assert all(max(first, due) <= day <= last for day in days)
    assert all((after - before).days == interval for before, after in itertools.pairwise(days))
    assert (due <= last) == bool(days)
