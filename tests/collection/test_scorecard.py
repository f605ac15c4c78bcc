"""From what became of forecasts to how often their windows held, and by how much they must widen."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection import scorecard
from collection.scorecard import Outcome, held, width
from collection.scoring import LEVELS, normal_score

outcomes = st.lists(st.builds(Outcome, st.floats(-4, 4), st.booleans(), st.floats(1, 3)), min_size=1, max_size=60)


def came(*places):
    return [Outcome(place, came=True) for place in places]


def test_without_a_wait_cut_short_it_is_a_plain_count():
    found = held([*came(0.0, 1.2, -1.2, 1.4, -3.0), Outcome(scorecard.LATE, came=False)], 0.8)
    assert (found.hits, found.decided, found.cut_short) == (3, 6, 0)
    assert found.coverage.rate == 0.5


def test_still_waited_for_after_the_window_is_a_miss():
    assert held([Outcome(1.7, came=False)], 0.8).hits == 0
    assert held([Outcome(1.0, came=False)], 0.8) is None


def test_waits_cut_short_do_not_flatter_what_came_early():
    """Good forecasts, of which two in five are cut short at random: counting what came alone would say 82 %."""
    draw = np.random.default_rng(3)
    place, cut = draw.normal(size=4000), draw.normal(0.3, 1, 4000)
    rows = [Outcome(float(min(p, c)), came=bool(p <= c)) for p, c in zip(place, cut, strict=True)]
    inside = [row for row in rows if row.came]
    counted = sum(abs(row.place) < 1.2816 for row in inside) / len(inside)
    assert counted > 0.815
    assert held(rows, 0.8).coverage.rate == pytest.approx(0.8, abs=0.012)


@given(outcomes, st.sampled_from([0.5, 0.8, 0.9]))
def test_hits_are_never_more_than_what_is_decided(rows, level):
    found = held(rows, level)
    if found is not None:
        assert 0 <= found.hits <= found.decided
        assert found.decided + found.cut_short == len(rows)


@given(outcomes)
def test_a_width_is_1_unless_surely_too_narrow(rows):
    found = width(rows)
    assert found.factor == 1 or (found.forecasts >= scorecard.ENOUGH_TO_WIDEN and found.held / found.forecasts < 0.8)
    assert 1 <= found.factor <= 3


def test_nineteen_forecasts_widen_nothing_twenty_do():
    assert width(came(*[2.5] * 19)).factor == 1
    assert width(came(*[2.5] * 20)).factor == pytest.approx(1.95, abs=0.051)
    assert width([]).factor == 1


def test_fifty_forecasts_cannot_tell_82_per_cent_from_90():
    """R10.8, as a page would meet it: 41 of 50 inside the 90 % window."""
    found = held(came(*[0.0] * 41, *[2.0] * 9), 0.9)
    assert found.coverage.p == pytest.approx(0.091653, abs=1e-6)


def test_widening_does_not_undo_itself():
    """The same waits forecast with windows already 1.95 times wider ask for the same width."""
    plain = came(*[2.5, 0.3] * 20)
    wider = [Outcome(row.place / 1.95, came=True, widened=1.95) for row in plain]
    assert width(wider).factor == width(plain).factor > 1


def test_a_factor_makes_four_in_five_windows_hold():
    draw = np.random.default_rng(5)
    rows = came(*(float(x) for x in draw.normal(0, 1.7, 400)))
    factor = width(rows).factor
    assert factor == pytest.approx(1.7, abs=0.2)
    assert held(came(*(row.place / factor for row in rows)), 0.8).coverage.rate == pytest.approx(0.8, abs=0.02)


def test_where_an_event_fell_is_told_in_normal_scores():
    """Log-normal, median 150, spread 0.25: e^0.25 times the median lies one deviation out."""
    quantiles = [float(q) for q in 150 * np.exp(0.25 * np.array([_ndtri(level) for level in LEVELS]))]
    for days, score in ((150, 0), (150 * np.exp(0.25), 1), (150 * np.exp(-0.5), -2), (150 * np.exp(0.9), 3.6)):
        assert normal_score(days, LEVELS, quantiles) == pytest.approx(score, abs=0.02)


def _ndtri(level):
    from scipy.special import ndtri

    return ndtri(level)
