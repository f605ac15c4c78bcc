"""Units and zones as loggers write them."""

from datetime import date, datetime, time, timedelta

import pytest

from collection.spreadsheets.cells import Misread
from collection.spreadsheets.clocktimes import is_clock, joined, read_clock
from collection.spreadsheets.loggers import is_row_of_units, says_fahrenheit, with_units, without_unit, zone_of


@pytest.mark.parametrize("heading", ["Temp (°F)", "Temperature [F]", "temp_f", "Temp F", "Temperature_Fahrenheit"])
def test_fahrenheit_is_known_by_its_heading(heading):
    assert says_fahrenheit(heading)


@pytest.mark.parametrize("heading", ["Temperature", "Temp (°C)", "Temp of", "first", "Front shelf"])
def test_no_other_heading_is_taken_for_fahrenheit(heading):
    assert not says_fahrenheit(heading)


UNITS = {
    "24.5 °C": ("24.5", False),
    "76F": ("76", True),
    "61 %RH": ("61", None),
    "61": ("61", None),
    24.5: (24.5, None),
}


@pytest.mark.parametrize("cell", UNITS)
def test_a_unit_behind_a_number_is_taken_off(cell):
    assert without_unit(cell) == UNITS[cell]


ZONES = {"Date Time, GMT+01:00": 60, "Time (UTC-5)": -300, "utc_time": 0, "Time, GMT +0530": 330}


@pytest.mark.parametrize("heading", ZONES)
def test_a_heading_may_say_its_zone(heading):
    assert zone_of(heading) == timedelta(minutes=ZONES[heading])


def test_a_heading_without_a_zone_says_none():
    assert zone_of("Time") is None
    assert zone_of("Routce") is None
    assert zone_of("Time GMT+99:00") is None


def test_an_offset_that_no_place_on_earth_has_is_no_time():
    assert read_clock("2026-11-01 12:00:00 +14:00") == (time(12), timedelta(hours=14))
    for text in ("2026-11-01 12:00:00 +99:99", "2026-11-01 12:00:00 -15:00", "2026-11-01 12:00 +01:75"):
        with pytest.raises(Misread, match="no time of the clock"):
            read_clock(text)


def test_a_row_of_units_is_one_and_a_row_of_values_is_none():
    assert is_row_of_units(["dd.mm.yyyy", "hh:mm", "°C", "%RH"])
    assert is_row_of_units(["tt.mm.jjjj", "[°C]", ""])
    assert not is_row_of_units(["2026-12-01", "24.5"])
    assert not is_row_of_units(["", 24.5])
    assert not is_row_of_units(["", ""])
    assert with_units(["Time", "Temp", "RH"], ["hh:mm", "°F", None]) == ["Time", "Temp (°F)", "RH"]


CLOCKS = {"14:05": time(14, 5), "2:05 PM": time(14, 5), "14.05 Uhr": time(14, 5), "14:05:30": time(14, 5, 30)}


@pytest.mark.parametrize("clock", CLOCKS)
def test_a_time_in_a_column_of_its_own_is_joined_to_its_date(clock):
    assert is_clock(clock)
    assert read_clock(joined("2026-12-01", clock)) == (CLOCKS[clock], None)


def test_what_a_workbook_holds_is_joined_as_what_it_is():
    at = datetime.combine(date(2026, 12, 1), time(14, 5))
    assert joined(datetime.combine(date(2026, 12, 1), time()), time(14, 5)) == at
    assert joined(date(2026, 12, 1), 14 / 24 + 5 / 1440) == at
    assert joined("", "14:05") == ""
    assert joined("2026-12-01", "") == "2026-12-01"


@pytest.mark.parametrize("cell", ["2026-12-01 14:05", "01.12.2026", "24.5", "", 24.5, None])
def test_dates_and_values_are_no_times_of_day(cell):
    assert not is_clock(cell)
