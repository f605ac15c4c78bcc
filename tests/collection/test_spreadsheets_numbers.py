"""Decimal marks are decided by column; sizes come out in millimetres with their unit from the cell or the heading."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.spreadsheets.cells import Cell, Misread
from collection.spreadsheets.numbers import (
    AmbiguousNumbers,
    NumberFormat,
    Unit,
    decide_numbers,
    decide_unit,
    read_size,
    unit_of_heading,
)


def number(text: Cell, *others: str) -> Decimal | None:
    decision = decide_numbers([text, *others])
    assert isinstance(decision, NumberFormat)
    return decision.read(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1.25", "1.25"),
        ("1,25", "1.25"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("1.234.567", "1234567"),
        ("0,125", "0.125"),
        ("1 234,50", "1234.50"),
        ("1'234.50", "1234.50"),
        ("-3", "-3"),
        ("45,00 €", "45.00"),
        ("$1,050.50", "1050.50"),
        ("ca. 30", "30"),
        ("20,-", "20"),
        ("30+", "30"),
    ],
)
def test_numbers_that_read_one_way_are_read(text: str, value: str) -> None:
    assert number(text) == Decimal(value)


def test_another_row_tells_what_1_234_means() -> None:
    assert number("1.234", "5,5") == 1234
    assert number("1.234", "5.5") == Decimal("1.234")


def test_1_234_alone_is_asked_with_both_readings() -> None:
    decision = decide_numbers(["1.234", "5.678", "7"])
    assert isinstance(decision, AmbiguousNumbers)
    assert dict(decision.readings) == {",": 1234, ".": Decimal("1.234")}
    assert decision.settled(",").read("5.678") == 5678


def test_rows_that_tell_both_ways_do_not_decide_1_234() -> None:
    assert isinstance(decide_numbers(["1.234", "5,5", "5.5"]), AmbiguousNumbers)


def test_a_workbooks_own_number_is_never_doubtful() -> None:
    assert number(1.234) == Decimal("1.234")
    size = read_size(5.125, NumberFormat(","), Unit.CM)
    assert size is not None
    assert size.mm == 51.25


@pytest.mark.parametrize("text", ["big", "12 spiders", "1.2.3,4,5", "--5", "#DIV/0!"])
def test_words_are_no_numbers(text: str) -> None:
    with pytest.raises(Misread):
        NumberFormat().read(text)


# 1 inch = 25.4 mm exactly: international yard and pound agreement of 1959.
@pytest.mark.parametrize(
    ("cell", "mm"),
    [
        ("12 mm", 12),
        ("5,5 cm", 55),
        ("5.5cm", 55),
        ('3"', 76.2),
        ("3 in", 76.2),
        ("1 1/2 inch", 38.1),
        ("1½ inch", 38.1),
        ('3/4"', 19.05),
        ("½ in.", 12.7),
        ("2 Zoll", 50.8),
        ("~5 cm", 50),
        ("5 cm DLS", 50),
        ("DLS 5 cm", 50),
        ("4-5 cm", 45),
        ('2"-3"', 63.5),
        ("8", 80),
        (8, 80),
        (3.5, 35),
    ],
)
def test_sizes_come_out_in_millimetres(cell: Cell, mm: float) -> None:
    size = read_size(cell, NumberFormat("."), Unit.CM)
    assert size is not None
    assert size.mm == pytest.approx(mm)


def test_a_range_says_that_its_middle_was_taken() -> None:
    size = read_size("4-5 cm", NumberFormat(), Unit.CM)
    assert size is not None
    assert size.said == "the middle of 4-5 cm"


@pytest.mark.parametrize("cell", ["big", "5 km", "120 cm", "0", "-4", "1/0 in", "5 cm (molted)"])
def test_what_is_no_size_of_an_animal_kept_here_is_refused(cell: str) -> None:
    with pytest.raises(Misread):
        read_size(cell, NumberFormat(), Unit.CM)


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("size (cm)", Unit.CM),
        ("Größe in mm", Unit.MM),
        ("DLS [inch]", Unit.INCH),
        ('LS "', Unit.INCH),
        ("Size (in)", Unit.INCH),
        ("size", None),
        ("Minimum", None),
    ],
)
def test_the_heading_may_name_the_unit(heading: str, unit: Unit | None) -> None:
    assert unit_of_heading(heading) is unit


def test_the_unit_is_asked_only_when_neither_heading_nor_every_cell_names_it() -> None:
    assert decide_unit("size", ["5 cm", '2"', ""]) is not None
    assert decide_unit("size", ["5 cm", "4"]) is None
    assert decide_unit("size (mm)", ["5", "4"]) is Unit.MM


@given(st.decimals(min_value=Decimal("0.1"), max_value=30, places=1))
def test_a_size_written_with_a_comma_or_a_point_is_the_same_size(cm: Decimal) -> None:
    point, comma = (
        read_size(f"{cm} cm", NumberFormat("."), Unit.MM),
        read_size(f"{cm} cm".replace(".", ","), NumberFormat(","), Unit.MM),
    )
    assert point is not None
    assert point == comma
    assert point.mm == pytest.approx(float(cm) * 10)
