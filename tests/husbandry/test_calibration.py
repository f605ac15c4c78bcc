"""Salt tests against Greenspan's table, and the arithmetic of one jar and of two."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from husbandry import calibration
from husbandry.calibration import SALTS, Correction, one_point, salt_humidity, two_point
from tests.reference import rows

shown = st.floats(0, 100)


@pytest.mark.parametrize("row", rows("salts"), ids=lambda row: f"{row['salt']} {row['celsius']} {row['by']}")
def test_salts_give_the_published_humidity(row):
    point = salt_humidity(row["salt"], float(row["celsius"]))
    assert point.relative_humidity == pytest.approx(float(row["value"]), abs=float(row["tolerance"]))
    if row["uncertainty"]:
        assert point.uncertainty == pytest.approx(float(row["uncertainty"]))


def test_the_polynomial_is_not_bent_to_the_truncated_table():
    assert salt_humidity("NaCl", 25).relative_humidity == pytest.approx(75.298, abs=5e-4)
    assert salt_humidity("LiCl", 25).relative_humidity > 11.29  # a minus sign, often copied, would give 10.89


def test_one_jar_gives_an_offset():
    """R2.4: NaCl at 22 °C is 75.411 %."""
    correction = one_point(71.4, "NaCl", 22)
    assert (correction.gain, correction.offset) == (1, pytest.approx(4.011, abs=5e-4))
    assert correction.correct(60.0) == pytest.approx(64.011, abs=5e-4)


def test_two_jars_give_a_gain_and_an_offset():
    """R2.5."""
    correction = two_point(30.5, "MgCl2", 79.0, "NaCl", 25)
    assert correction.gain == pytest.approx(0.876495, abs=1e-6)
    assert correction.offset == pytest.approx(6.054978, abs=1e-6)
    assert correction.correct(55.0) == pytest.approx(54.262, abs=5e-4)


@pytest.mark.parametrize(
    ("jars", "celsius", "gain"),
    [
        ((73.0, "NaCl", 83.5, "KCl"), 25, (84.347816 - 75.298084) / 10.5),  # neighbours, nine per cent apart
        ((46.0, "K2CO3", 55.0, "Mg(NO3)2"), 25, (52.897575 - 43.168381) / 9),
        ((14.0, "LiCl", 93.0, "K2SO4"), 20, (97.598196 - 11.311193) / 79),
    ],
)
def test_any_two_salts_of_the_table_make_a_gain(jars, celsius, gain):
    """By hand from Greenspan's polynomials."""
    assert two_point(*jars, celsius).gain == pytest.approx(gain, abs=2e-6)


@given(st.sampled_from(SALTS), st.sampled_from(SALTS), st.floats(5, 30), st.floats(-6, 6), st.floats(-6, 6))
def test_in_the_jars_the_corrected_reading_is_that_of_the_salt(first, second, celsius, off_1, off_2):
    true_1, true_2 = (salt_humidity(salt, celsius).relative_humidity for salt in (first, second))
    s1, s2 = (min(max(true + off, 0), 100) for true, off in ((true_1, off_1), (true_2, off_2)))
    try:
        correction = two_point(s1, first, s2, second, celsius)
    except ValueError:
        return
    assert correction.correct(s1) == pytest.approx(true_1)
    assert correction.correct(s2) == pytest.approx(true_2)
    swapped = two_point(s2, second, s1, first, celsius)
    assert (swapped.gain, swapped.offset) == pytest.approx((correction.gain, correction.offset))


@given(shown)
def test_a_corrected_reading_stays_between_0_and_100(value):
    for correction in (one_point(60, "NaCl", 22), one_point(90, "NaCl", 22), two_point(30.5, "MgCl2", 79, "NaCl", 25)):
        assert 0 <= correction.correct(value) <= 100


def test_the_uncertainty_is_least_at_the_jars_and_grows_away_from_them():
    correction = two_point(30.5, "MgCl2", 79.0, "NaCl", 25)
    assert correction.uncertainty(55) < correction.uncertainty(79) < correction.uncertainty(95)
    alone = one_point(71.4, "NaCl", 22)
    assert alone.uncertainty(71.4) < alone.uncertainty(50) < alone.uncertainty(20)
    assert alone.uncertainty(71.4) > salt_humidity("NaCl", 22).uncertainty


def test_readings_outside_the_jars_are_flagged():
    correction = two_point(30.5, "MgCl2", 79.0, "NaCl", 25)
    assert [correction.beyond(value) for value in (20, 30.5, 55, 79, 90)] == [True, False, False, False, True]
    assert not calibration.NONE.beyond(99)


def test_a_sensor_that_was_never_tested_says_so_by_its_uncertainty():
    assert calibration.NONE.correct(61.5) == 61.5
    assert calibration.NONE.uncertainty(61.5) == calibration.UNTESTED
    assert Correction(0.876495, 6.054978).correct(55) == pytest.approx(54.262, abs=1e-3)


REFUSED = {
    "a salt that is not listed": (lambda: salt_humidity("KNO3", 20), "No figures for KNO3"),
    "potash above its range": (lambda: salt_humidity("K2CO3", 31), "hold from 0 to 30 °C"),
    "table salt below freezing": (lambda: salt_humidity("NaCl", -1), "hold from 0 to 80 °C"),
    "no temperature": (lambda: salt_humidity("NaCl", math.nan), "hold from 0 to 80 °C"),
    "a reading above 100": (lambda: one_point(101, "NaCl", 20), "out of order"),
    "no reading": (lambda: one_point(math.nan, "NaCl", 20), "out of order"),
    "one salt twice": (lambda: two_point(70, "NaCl", 75, "NaCl", 20), "too near each other"),
    "salts too near": (lambda: two_point(70, "NaCl", 78, "KCl", 60), "too near each other"),
    "jars mixed up": (lambda: two_point(70, "MgCl2", 40, "NaCl", 20), "mixed up"),
    "jars that had not settled": (lambda: two_point(60, "MgCl2", 70, "NaCl", 20), "had not settled"),
    "correcting nonsense": (lambda: one_point(70, "NaCl", 20).correct(140), "out of order"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_impossible_tests_are_refused_with_a_sentence(name):
    attempt, sentence = REFUSED[name]
    with pytest.raises(ValueError, match=sentence):
        attempt()
