"""Seven days, four weeks, twelve months: what stays on the shelf."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from config.retention import DAILY, MONTHLY, WEEKLY, superfluous

START = datetime(2025, 1, 1, 3, tzinfo=UTC)


def kept_after(days: int) -> list[datetime]:
    """Make one backup a day and clear the shelf after each, as the server does."""
    shelf: set[datetime] = set()
    for day in range(days):
        shelf.add(START + timedelta(days=day))
        shelf -= superfluous(shelf)
    return sorted(shelf, reverse=True)


def test_after_two_years_the_last_seven_days_are_there():
    shelf = kept_after(730)
    assert [(shelf[0] - moment).days for moment in shelf[:7]] == list(range(7))


def test_after_two_years_a_year_can_be_looked_back_month_by_month():
    shelf = kept_after(730)
    assert len({(moment.year, moment.month) for moment in shelf}) == MONTHLY
    assert len(shelf) <= DAILY + WEEKLY + MONTHLY


def test_of_two_on_one_day_the_later_stays():
    assert superfluous([START, START + timedelta(hours=5)]) == {START}


def test_an_empty_shelf_stays_empty():
    assert superfluous([]) == set()


def test_a_server_that_slept_for_a_year_loses_nothing_it_had():
    before = [START + timedelta(days=day) for day in range(3)]
    assert superfluous([*before, START + timedelta(days=365)]) == set()


@given(st.sets(st.integers(0, 1100), max_size=80))
def test_the_newest_is_never_cleared_and_clearing_twice_clears_nothing_more(days):
    made = {START + timedelta(days=day, hours=day % 24) for day in days}
    gone = superfluous(made)
    assert not made or max(made) not in gone
    assert superfluous(made - gone) == set()
