"""Alarms of the climate come with patience, and go with patience."""

from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Group, Lifestyle
from husbandry.alarms import MARGINS, PATIENCE, Pulse, Side, Watch, beat, side_of, silent_since, step, well_inside
from husbandry.bands import OPEN, Band, Clash, default_bands, what_suits_all

BAND, MARGIN, MINUTES, OVERDUE = Band(23, 28), MARGINS["celsius"], 60, 3600


def watched(values, every=10, band=BAND):
    """What is known after these values, so many minutes apart."""
    return reduce(
        lambda watch, row: step(watch, row[0] * every * MINUTES, row[1], band, MARGIN), enumerate(values), Watch()
    )


def heard(minutes):
    return reduce(lambda pulse, at: beat(pulse, at * MINUTES, OVERDUE), minutes, Pulse())


def test_an_open_door_is_no_alarm():
    assert not watched([25, 21, 21, 25]).rung
    assert watched([25, 21, 21, 25]).calm


def test_half_an_hour_outside_is_one():
    assert not watched([25, 29, 29, 29]).rung
    assert watched([25, 29, 29, 29, 29]).rung
    assert watched([25, 29, 29, 29, 29]).side is Side.ABOVE


def test_it_stays_while_the_air_hovers_at_the_limit():
    assert watched([29, 29, 29, 29, 27.9, 28.1, 27.9, 27.9, 27.9, 27.9, 27.9]).rung


def test_it_goes_half_an_hour_after_the_air_is_well_inside():
    assert watched([29, 29, 29, 29, 27, 27, 27]).rung
    assert watched([29, 29, 29, 29, 27, 27, 27, 27]).calm


def test_one_value_back_at_the_limit_starts_the_way_back_anew():
    assert watched([29, 29, 29, 29, 27, 27, 27.8, 27, 27, 27]).rung
    assert watched([29, 29, 29, 29, 27, 27, 27.8, 27, 27, 27, 27]).calm


def test_from_too_warm_to_too_cold_is_another_alarm_with_its_own_patience():
    after = watched([29, 29, 29, 29, 20])
    assert (after.side, after.rung) == (Side.BELOW, False)


def test_what_is_older_than_the_newest_changes_nothing():
    watch = watched([25, 25, 25])
    assert step(watch, 60, 90, BAND, MARGIN) is watch


def test_without_a_band_nothing_rings():
    assert side_of(900, OPEN) is Side.INSIDE
    assert well_inside(900, OPEN, Side.ABOVE, MARGIN)


@given(st.lists(st.floats(15, 35), max_size=40), st.integers(1, 60))
def test_an_alarm_means_outside_for_all_its_patience(values, every):
    after = watched(values, every)
    if after.rung and after.since is not None:
        assert after.last - after.since >= PATIENCE
    if not any(side_of(value, BAND) is not Side.INSIDE for value in values):
        assert after.calm


def test_silence_begins_when_a_reading_is_overdue():
    pulse = heard([0, 10, 20])
    assert silent_since(pulse, 80 * MINUTES, OVERDUE, 0) is None
    assert silent_since(pulse, 81 * MINUTES, OVERDUE, 0) == 20 * MINUTES


def test_one_reading_does_not_end_a_silence_two_do():
    assert silent_since(heard([0, 10, 200]), 205 * MINUTES, OVERDUE, 0) == 10 * MINUTES
    assert silent_since(heard([0, 10, 200, 210]), 215 * MINUTES, OVERDUE, 0) is None
    assert silent_since(heard([0, 10, 200, 400]), 405 * MINUTES, OVERDUE, 0) == 10 * MINUTES


def test_a_sensor_that_never_spoke_is_silent_since_it_was_put_up():
    assert silent_since(Pulse(), 30 * MINUTES, OVERDUE, 0) is None
    assert silent_since(Pulse(), 61 * MINUTES, OVERDUE, 0) == 0


@given(st.lists(st.integers(0, 5000), max_size=30))
def test_order_of_arrival_of_old_readings_does_not_matter(minutes):
    in_order = heard(sorted(minutes))
    newest = max(minutes, default=None)
    assert in_order.last == (None if newest is None else newest * MINUTES)


def test_the_band_of_a_place_suits_all_who_live_there():
    assert what_suits_all([Band(22, 28), Band(24, 30), OPEN]) == Band(24, 28, "what suits all that live here")
    assert not what_suits_all([])
    assert what_suits_all([Band(24, None)]).says("°C") == "at least 24 °C"


def test_a_desert_and_a_forest_have_no_air_in_common():
    clash = what_suits_all([Band(30, 45), Band(70, 85)])
    assert isinstance(clash, Clash)
    assert clash.says("%") == "what lives here wants at most 45 and at least 70 %"


def test_defaults_hang_on_group_and_lifestyle_and_are_open_where_nothing_is_known():
    humidity, celsius = default_bands(Group.TARANTULA, Lifestyle.FOSSORIAL)
    assert (humidity.says("%"), celsius.says("°C")) == ("70–85 %", "22–27 °C")
    assert default_bands(Group.SCORPION, Lifestyle.FOSSORIAL) == (OPEN, OPEN)
    with pytest.raises(ValueError, match="lower end"):
        Band(28, 23)
