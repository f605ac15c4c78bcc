"""What belongs into a series of growth, and what breaks it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.growth import fit_growth
from collection.skins import (
    BODY,
    CARAPACE,
    LEG_SPAN,
    Skin,
    best_series,
    counting_missed,
    measures_for,
    missed_in,
    series_of,
    usual_ratio,
)
from collection.stages import Group

DAY = date(2025, 1, 1)


def skin(month: int, mm: float | None = None, step: int | None = None, *, measure: str = CARAPACE, **odd) -> Skin:
    return Skin(DAY + timedelta(days=30 * month), step, {measure: mm} if mm else {}, **odd)


def test_sizes_stand_at_their_recorded_instars():
    found = series_of([skin(2, 5.0, 6), skin(0, 3.0, 4), skin(1, 3.9, 5)], CARAPACE)
    assert found.points == [(4, 3.0), (5, 3.9), (6, 5.0)]


def test_a_molt_without_a_number_or_a_size_is_counted_on():
    assert series_of([skin(0, 3.0), skin(1), skin(2, 5.0)], CARAPACE).points == [(1, 3.0), (3, 5.0)]
    assert series_of([skin(0, 3.0), skin(1, 3.9, 5), skin(2, 5.0)], CARAPACE).points == [(4, 3.0), (5, 3.9), (6, 5.0)]


def test_a_number_that_runs_backwards_is_not_believed():
    assert [instar for instar, _ in series_of([skin(0, 3.0, 6), skin(1, 3.9, 4)], CARAPACE).points] == [6, 7]


def test_a_shed_skin_has_the_size_of_the_instar_before():
    found = series_of([skin(0, 3.0, 4), skin(1, 3.9, 5), skin(2, 3.9, 6, on_skin=True)], CARAPACE)
    assert found.points == [(4, 3.0), (5, 3.9)]
    alone = series_of([skin(0, step=4), skin(1, 3.0, 5, on_skin=True)], CARAPACE)
    assert (alone.points, alone.sizes[0].on) == ([(4, 3.0)], DAY)


def test_a_males_last_molt_and_lost_legs_are_left_out_with_a_reason():
    rows = [skin(0, 30.0, 6, measure=LEG_SPAN), skin(1, 33.0, 7, measure=LEG_SPAN, legs_lost=True)]
    rows.append(skin(2, 70.0, 8, measure=LEG_SPAN, matured=True))
    found = series_of(rows, LEG_SPAN)
    assert found.points == [(6, 30.0)]
    assert [why for _, why in found.left_out] == [
        "legs were lost or growing back",
        "the molt to maturity changes a male's shape",
    ]


def test_a_carapace_does_not_mind_a_lost_leg():
    assert series_of([skin(0, 3.0, 4), skin(1, 3.9, 5, legs_lost=True)], CARAPACE).left_out == ()


def test_measures_are_never_mixed_and_the_fuller_one_is_taken():
    rows = [skin(0, 3.0, 4), skin(1, 3.9, 5), *(skin(m, 10.0 * m, 5 + m, measure=LEG_SPAN) for m in (2, 3, 4))]
    found = best_series(rows, Group.TARANTULA)
    assert (found.measure, len(found.sizes)) == (LEG_SPAN, 3)
    assert best_series(rows[:3], Group.TARANTULA).measure == CARAPACE


def test_other_groups_are_measured_in_their_own_words():
    assert measures_for(Group.MANTIS)[CARAPACE] == "pronotum length"
    assert list(measures_for(Group.CENTIPEDE)) == [BODY]
    assert LEG_SPAN not in measures_for(Group.SCORPION)


def test_a_missing_molt_is_found_between_two_sizes():
    """Check 3: carapaces of 10.0 and 19.0 mm at ratio 1.38 (*Grammostola vachoni*): one molt is missing."""
    [found] = missed_in(series_of([skin(0, 10.0, 7), skin(4, 19.0, 8)], CARAPACE), 1.38)
    assert (found.molts, found.before.mm, found.after.mm) == (1, 10.0, 19.0)


def test_a_gap_that_the_numbers_tell_of_is_no_missing_molt():
    assert missed_in(series_of([skin(0, 10.0, 7), skin(4, 19.0, 9)], CARAPACE), 1.38) == []


def test_a_fit_counts_the_molts_that_are_missing():
    recorded = series_of([skin(n, 10.0 * 1.38**molts, 7 + n) for n, molts in enumerate((0, 1, 3, 4))], CARAPACE)
    counted = counting_missed(recorded, 1.38)
    assert [instar for instar, _ in recorded.points] == [7, 8, 9, 10]
    assert [instar for instar, _ in counted.points] == [7, 8, 10, 11]
    assert fit_growth(counted.points).ratio == pytest.approx(1.38)


def test_a_group_without_a_figure_grows_by_przibrams_rule():
    assert usual_ratio(Group.CENTIPEDE) == pytest.approx(1.26, abs=0.005)
    assert usual_ratio(Group.MANTIS) == pytest.approx(1.33, abs=0.005)


@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.none() | st.floats(1, 90), st.none() | st.integers(0, 15), st.booleans()),
        max_size=9,
    )
)
def test_any_record_gives_a_series_in_order_that_can_be_fitted(rows):
    skins = [skin(month, mm, step, on_skin=old) for month, mm, step, old in rows]
    found = series_of(skins, CARAPACE)
    instars = [size.instar for size in found.sizes]
    assert instars == sorted(set(instars))
    fit_growth(found.points)
    missed_in(found, 1.3)
