"""The race as a picture: what its cells hold against the race itself, and what the paths show."""

import math
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding import ridges, sacwatch
from collection.dates import FuzzyDate
from collection.figures import Scale
from collection.intervals import IntervalPrior, race, update
from collection.tabulated import tabulated

TODAY = date(2026, 12, 4)
AXIS = Scale(TODAY - timedelta(days=215), TODAY + timedelta(days=210))
CERTAIN = 1e9
SAC, MOLT = (update(IntervalPrior(days, CERTAIN, spread, CERTAIN)) for days, spread in ((90, 0.35), (160, 0.25)))


def drawn(days=60, chance=0.7, signs=(), molt=MOLT, marks=()):
    paired = FuzzyDate.on(TODAY - timedelta(days=days))
    last = paired.earliest - timedelta(days=30) if molt else None
    seen = sacwatch.outlook(paired, TODAY, SAC, chance, molt=molt, last_molt=last, signs=signs)
    clocks = sacwatch.clocks(paired, SAC, chance, molt, last)
    return ridges.ridge(clocks, paired, seen, AXIS, TODAY, marks), seen, clocks


def heights(path):
    return [float(point.split()[1].rstrip("Z")) for point in path.lstrip("M").split("L")]


@pytest.mark.parametrize("elapsed", [0, 40, 150])
def test_the_cells_hold_the_chances_of_the_race(elapsed):
    _, _, (comes, molts) = drawn(elapsed)
    found = ridges.cells(comes, molts, elapsed, 210)
    first, second, _ = race(comes, molts, elapsed, 210)
    assert (found.sac.sum(), found.molt.sum()) == pytest.approx((first, second), abs=2e-3)
    month = race(comes, molts, elapsed, 30)
    assert found.sac[:6].sum() == pytest.approx(month.first_a, abs=1e-3)


def test_a_figure_costs_at_most_sixty_points():
    assert len(ridges.cells(*drawn()[2], 60, 210).sac) + ridges.PAST_CELLS <= 60


def test_sac_stands_above_the_line_and_molt_hangs_below():
    ridge, _, _ = drawn()
    assert max(heights(ridge.sac)) == ridges.BASE == min(heights(ridge.molt))
    assert min(heights(ridge.sac)) >= ridges.BASE - ridges.TALLEST - 0.1
    assert max(heights(ridge.molt)) <= ridges.BASE + ridges.DEEPEST + 0.1


def test_without_a_molt_on_record_nothing_hangs():
    assert drawn(molt=None)[0].molt == ""


def test_what_is_drawn_above_is_the_chance_that_is_said():
    for signs in ((), ("webbing",), ("bald_dark",)):
        ridge, seen, _ = drawn(signs=signs)
        assert ridge.shown_sac == pytest.approx(seen.ever.first_a, abs=3e-3)
        assert ridge.shown_molt <= seen.ever.first_b + 3e-3


def test_a_pairing_before_the_axis_has_no_mark_and_signs_stand_at_their_days():
    old, _, _ = drawn(300, marks=[(TODAY, "digging"), (TODAY - timedelta(days=300), "closed")])
    assert old.paired is None
    assert [(mark.word, mark.x) for mark in old.marks] == [("digging", AXIS.at(TODAY))]
    assert drawn(100)[0].paired == AXIS.at(TODAY - timedelta(days=100))


def test_paired_today_nothing_has_passed():
    assert drawn(0)[0].past == ""


def test_a_molt_that_is_certain_to_have_come_cannot_be_drawn():
    with pytest.raises(ValueError, match="nothing left to draw"):
        ridges.cells(SAC.survival, lambda days: days * 0.0, 60, 210)


@given(days=st.integers(0, 500), chance=st.floats(0.05, 0.98))
@settings(max_examples=30)
def test_the_chances_drawn_are_never_more_than_certain(days, chance):
    ridge, _, _ = drawn(days, chance)
    assert ridge.shown_sac >= 0
    assert ridge.shown_sac + ridge.shown_molt <= 1 + 1e-6


@given(
    own=st.lists(st.floats(20, 200), max_size=4),
    cut=st.lists(st.floats(5, 200), min_size=1, max_size=4),
    day=st.floats(1, 900),
)
@settings(max_examples=30, deadline=None)
def test_a_table_of_a_forecast_says_the_same(own, cut, day):
    exact = update(sacwatch.sac_prior(2, 4), own, cut)
    table = tabulated(exact)
    assert table.survival(day) == pytest.approx(exact.survival(day), abs=2e-4)
    assert math.log(table.quantile(0.3) / exact.quantile(0.3)) == pytest.approx(0, abs=2e-3)
    assert tabulated(SAC) is SAC


def test_where_signs_stop_counting_the_height_steps_upright_and_is_marked():
    plain, signed = drawn()[0], drawn(signs=("webbing",))[0]
    assert plain.until is None
    assert signed.until == AXIS.at(TODAY + timedelta(days=sacwatch.SIGN_DAYS))
    points = [tuple(map(float, point.rstrip("Z").split())) for point in signed.sac.lstrip("M").split("L")]
    step = [y for x, y in points if x == pytest.approx(signed.until * 10, abs=0.06)]
    assert len(step) == 2
    assert step[0] < step[1]  # webbing lifts the thirty days and lowers what comes after; up is less
