"""Geometry of figures: what stands where on a time axis, a stair of sizes, a year of meals."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection import figures
from collection.figures import Scale

DAY = date(2026, 1, 1)
YEAR = Scale(date(2026, 1, 1), date(2027, 1, 1))


def days(n):
    return timedelta(days=n)


@pytest.mark.parametrize(
    ("day", "x"),
    [
        (date(2026, 1, 1), 0),
        (date(2027, 1, 1), 100),
        (date(2026, 7, 2), 49.86),
        (date(2025, 1, 1), 0),
        (date(2030, 1, 1), 100),
    ],
)
def test_a_day_stands_where_it_belongs_and_never_outside(day, x):
    assert YEAR.at(day) == x


def test_an_axis_of_one_day_divides_by_nothing():
    assert Scale(DAY, DAY).at(DAY) == 0


def test_years_are_marked_where_they_begin():
    ticks = Scale(date(2024, 6, 1), date(2026, 6, 1)).years()
    assert [tick.text for tick in ticks] == ["2025", "2026"]
    assert [tick.x for tick in ticks] == [29.32, 79.32]


def test_months_are_marked_at_their_middle_and_only_where_it_is_shown():
    ticks = Scale(date(2026, 1, 20), date(2026, 4, 10)).months()
    assert [tick.text for tick in ticks] == ["Feb", "Mar"]


def test_fewer_than_two_sizes_are_no_growth():
    assert figures.growth([], DAY) is None
    assert figures.growth([(DAY, 10.0, True)], DAY) is None


def test_an_animal_grows_only_at_a_molt():
    stair = figures.growth([(DAY, 10.0, True), (DAY + days(100), 20.0, None)], DAY + days(200))
    first, second = stair.steps
    assert stair.path == f"M{first.x * 10:.1f} {first.y}H{second.x * 10:.1f}V{second.y}H{stair.today * 10:.1f}"
    assert second.y < first.y < stair.base
    assert (first.size, first.kept, second.kept) == (10.0, True, None)
    assert stair.window is None


def test_sizes_close_together_do_not_write_over_each_other():
    stair = figures.growth(
        [(DAY, 10.0, None), (DAY + days(2), 12.0, None), (DAY + days(400), 20.0, None)], DAY + days(400)
    )
    assert [step.label for step in stair.steps] == [False, True, True]


def test_the_window_of_the_next_molt_stands_ahead_of_today():
    window = tuple(DAY + days(n) for n in (250, 280, 320, 350))
    stair = figures.growth([(DAY, 10.0, None), (DAY + days(100), 20.0, None)], DAY + days(200), window)
    opens, width, likely, likely_width = stair.window
    assert stair.today < opens < likely < likely + likely_width < opens + width <= 100


@pytest.mark.parametrize(("top", "levels"), [(3, "1 2 3"), (12, "5 10"), (160, "50 100 150"), (0.9, "0.5")])
def test_round_sizes_are_ruled_across(top, levels):
    stair = figures.growth([(DAY, top / 1.05, None), (DAY + days(9), top / 1.05, None)], DAY + days(9))
    assert [text for _, text in stair.levels] == [f"{level} mm" for level in levels.split()]


def test_a_year_of_meals_counts_what_it_shows():
    meals = [(DAY - days(n), n % 2 == 0) for n in (0, 1, 2, 364, 366, 500)] + [(DAY + days(3), True)]
    strip = figures.meal_strip(meals, [], DAY)
    assert (strip.taken, strip.refused, len(strip.marks)) == (3, 1, 4)
    assert all(0 <= mark.x <= strip.today for mark in strip.marks)


def test_holds_are_barred_up_to_today_and_not_beyond():
    spans = figures.meal_strip(
        [], [(DAY - days(100), DAY - days(50)), (DAY - days(10), None), (DAY - days(9), DAY + days(90))], DAY
    ).held
    today = Scale(DAY - days(365), DAY + days(10)).at(DAY)
    assert spans[0][0] + spans[0][1] < today
    assert [round(x + width, 2) for x, width in spans[1:]] == [today, today]


def test_a_hold_before_the_year_or_after_today_is_not_drawn():
    old, ahead = (DAY - days(500), DAY - days(400)), (DAY + days(1), DAY + days(20))
    assert figures.meal_strip([], [old, ahead], DAY).held == ()


@given(
    st.lists(st.tuples(st.integers(0, 5000), st.floats(0.5, 300)), min_size=2, max_size=12),
    st.integers(0, 900),
)
def test_a_stair_stays_inside_its_frame(molts, later):
    rows = [(DAY + days(n), size, None) for n, size in sorted(molts)]
    stair = figures.growth(rows, rows[-1][0] + days(later))
    assert all(0 <= step.x <= 100 and figures.TOP <= step.y <= stair.base for step in stair.steps)
    assert all(figures.TOP <= y < stair.base for y, _ in stair.levels)
