"""Vapour in air against the authorities: IAPWS-95, ASHRAE, the WMO, FAO; and what must always hold."""

import math

import CoolProp.CoolProp as coolprop
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from husbandry import humidity
from tests.reference import rows

QUANTITIES = {
    "pressure": lambda celsius, _: humidity.saturation_vapour_pressure(celsius),
    "dew_point": humidity.dew_point,
    "deficit": humidity.vapour_pressure_deficit,
    "absolute": humidity.absolute_humidity,
}
air = st.floats(-20, 60)
shares = st.floats(1, 100)


@pytest.mark.parametrize("row", rows("vapour"), ids=lambda row: f"{row['id']} {row['quantity']} {row['by']}")
def test_published_values_are_met_within_their_tolerance(row):
    found = QUANTITIES[row["quantity"]](float(row["celsius"]), float(row["humidity"] or 0))
    relative, absolute = (float(row[name]) if row[name] else 0 for name in ("relative_tolerance", "tolerance"))
    assert found == pytest.approx(float(row["value"]), rel=relative, abs=absolute)


@pytest.mark.parametrize("celsius", range(5, 46, 4))
def test_saturation_equals_the_reference_equation_of_water(celsius):
    reference = coolprop.PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
    assert humidity.saturation_vapour_pressure(celsius) == pytest.approx(reference, rel=1e-4)


@given(st.floats(1, 60), st.floats(5, 100))
def test_an_independent_program_finds_the_same_air(celsius, share):
    full = coolprop.PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
    vapour = full * share / 100
    assert humidity.vapour_pressure_deficit(celsius, share) == pytest.approx(full - vapour, rel=1e-3, abs=1e-6)
    assume(vapour > 615)  # below the triple point it knows no liquid
    dew = coolprop.PropsSI("T", "P", vapour, "Q", 0, "Water") - 273.15
    assert humidity.dew_point(celsius, share) == pytest.approx(dew, abs=0.02)


@given(air, shares)
def test_dew_falls_where_the_vapour_saturates(celsius, share):
    dew = humidity.dew_point(celsius, share)
    assert dew <= celsius + 1e-9
    vapour = humidity.saturation_vapour_pressure(celsius) * share / 100
    assert humidity.saturation_vapour_pressure(dew) == pytest.approx(vapour, rel=1e-9)


@given(air, air, shares)
def test_warmer_air_holds_more_and_is_thirstier(first, second, share):
    low, high = sorted((first, second))
    assume(high - low > 0.01)
    assert humidity.saturation_vapour_pressure(low) < humidity.saturation_vapour_pressure(high)
    assert humidity.absolute_humidity(low, share) < humidity.absolute_humidity(high, share)


def test_below_zero_it_is_the_dew_point_over_water_not_the_frost_point():
    assert humidity.dew_point(-10, 80) == pytest.approx(-12.77, abs=0.05)


@pytest.mark.parametrize("celsius", [-101, 101, math.nan, math.inf])
def test_air_that_cannot_be_worked_with_is_refused(celsius):
    with pytest.raises(ValueError, match="no temperature of air"):
        humidity.saturation_vapour_pressure(celsius)


@pytest.mark.parametrize("share", [-0.1, 140, math.nan])
def test_a_humidity_that_cannot_be_is_refused(share):
    with pytest.raises(ValueError, match="between 0 and 100 %"):
        humidity.vapour_pressure_deficit(25, share)


def test_a_humidity_just_above_100_is_refused_as_what_it_is():
    with pytest.raises(ValueError, match=r"A relative humidity of 100\.0001 % cannot be"):
        humidity.dew_point(25, 100.0001)


@pytest.mark.parametrize("celsius", [-100, -40, -5, 0, 25, 100])
def test_saturated_air_dews_where_it_is_and_is_not_thirsty(celsius):
    assert humidity.dew_point(celsius, 100) == pytest.approx(celsius, abs=1e-9)
    assert humidity.vapour_pressure_deficit(celsius, 100) == 0


def test_bone_dry_air_has_no_dew_point_to_speak_of():
    with pytest.raises(ValueError, match="below −100 °C"):
        humidity.dew_point(20, 0)
