"""Dates are decided from the whole column, and asked when the column cannot tell."""

import datetime as dt
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.dates import FuzzyDate
from collection.spreadsheets.cells import Cell, Misread
from collection.spreadsheets.datecells import Order
from collection.spreadsheets.datecolumns import Ambiguous, DateFormat, Mixed, decide_dates, forced, with_epoch

TODAY = dt.date(2026, 11, 25)


def decided(*values: Cell) -> DateFormat:
    decision = decide_dates(values, TODAY)
    assert isinstance(decision, DateFormat)
    return decision


def read(text: Cell) -> str:
    return str(decided(text).read(text))


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("2026-04-03", "2026-04-03"),
        ("2026-04-03 14:20", "2026-04-03"),
        ("2026-04-03T14:20:00Z", "2026-04-03"),
        ("2026/4/3", "2026-04-03"),
        ("20260403", "2026-04-03"),
        ("28.04.2026", "2026-04-28"),
        ("03.04.2026", "2026-04-03"),
        ("3. 4. 26", "2026-04-03"),
        ("28.4.98", "1998-04-28"),
        ("Fr., 03.04.2026", "2026-04-03"),
        ("3 Apr 2026", "2026-04-03"),
        ("3rd April 2026", "2026-04-03"),
        ("April 3, 2026", "2026-04-03"),
        ("3. Oktober 2026", "2026-10-03"),
        ("3-Dez-26", "2026-12-03"),
        ("Mrz 2026", "2026-03"),
        ("Oct-26", "2026-10"),
        ("2019", "2019"),
        (2019, "2019"),
        (2019.0, "2019"),
        ("2019-03", "2019-03"),
        ("03/2019", "2019-03"),
        ("3.2019", "2019-03"),
        ("2019-2020", "2019-01-01/2020-12-31"),
        ("ca. 2019", "2019"),
        ("~03/2019", "2019-03"),
        ("2019?", "2019"),
        ("46115", "2026-04-03"),
        (46115, "2026-04-03"),
        (46115.75, "2026-04-03"),
        ("46115,5", "2026-04-03"),
        (dt.date(2026, 4, 3), "2026-04-03"),
    ],
)
def test_a_date_that_can_be_read_one_way_only_is_read(cell: Cell, expected: str) -> None:
    assert read(cell) == expected


@pytest.mark.parametrize("cell", ["", "  ", "?", "unknown", "n/a", "-", "never", "unbekannt", None])
def test_words_for_not_known_are_no_date_and_no_error(cell: Cell) -> None:
    assert decided(cell).read(cell) is None


@pytest.mark.parametrize(
    ("cell", "word"),
    [
        ("soon", "not a date"),
        ("31.02.2026", "no day of the calendar"),
        ("0206-12-01", "no day of the calendar"),
        ("1.12.0206", "no day of the calendar"),
        ("0001-01-01/2026-01-01", "reaches beyond"),
        ("2026-13-19", "no day of the calendar"),
        ("13/2019", "no month of the calendar"),
        ("3 Oct", "has no year"),
        ("2020-2019", "ends before it begins"),
        ("#REF!", "formula that failed"),
        ("12345", "not a date"),
        (True, "not a date"),
    ],
)
def test_a_cell_that_is_no_date_says_why(cell: Cell, word: str) -> None:
    with pytest.raises(Misread, match=word):
        decided(cell).read(cell)


def test_one_28_settles_the_order_of_the_whole_column() -> None:
    first = decided("03/04/2026", "04/28/2026")
    assert str(first.read("03/04/2026")) == "2026-03-04"
    second = decided("03/04/2026", "28/04/2026", "")
    assert str(second.read("03/04/2026")) == "2026-04-03"


def test_a_column_without_a_telling_row_is_asked_with_both_readings() -> None:
    decision = decide_dates(["03/04/2026", "05/06/2026", "07/07/2026"], TODAY)
    assert type(decision) is Ambiguous
    assert [(o.order, o.written, o.reads) for o in decision.options] == [
        (Order.DMY, "03/04/2026", dt.date(2026, 4, 3)),
        (Order.MDY, "03/04/2026", dt.date(2026, 3, 4)),
    ]


def test_the_order_that_puts_fewer_dates_into_the_future_is_offered_first() -> None:
    decision = decide_dates(["11/12/2026", "11/10/2026"], TODAY)
    assert isinstance(decision, Ambiguous)
    assert decision.options[0].order is Order.MDY


def test_dates_that_mean_the_same_day_either_way_are_not_asked() -> None:
    assert read("07/07/2025") == "2025-07-07"


def test_two_digit_years_with_dashes_may_stand_first_and_are_asked() -> None:
    decision = decide_dates(["26-10-03", "25-12-11"], TODAY)
    assert isinstance(decision, Ambiguous)
    assert {option.order for option in decision.options} == {Order.DMY, Order.YMD}


def test_a_column_that_mixes_both_orders_is_asked_and_says_how_many_rows_each_refuses() -> None:
    decision = decide_dates(["28/04/2026", "04/28/2026", "29/04/2026"], TODAY)
    assert isinstance(decision, Mixed)
    assert [(option.order, option.refused) for option in decision.options] == [(Order.DMY, 1), (Order.MDY, 2)]


def test_a_slip_that_is_a_day_in_no_order_does_not_make_a_column_mixed() -> None:
    column = decided("28.04.2026", "31.02.2026")
    with pytest.raises(Misread):
        column.read("31.02.2026")


def test_dots_and_slashes_in_one_column_are_decided_each_for_itself() -> None:
    column = decided("03.04.2026", "04/28/2026", "05/06/2026")
    assert str(column.read("03.04.2026")) == "2026-04-03"
    assert str(column.read("05/06/2026")) == "2026-05-06"


def test_the_order_a_keeper_says_holds_for_every_separator() -> None:
    said = forced(Order.MDY, TODAY)
    assert {str(said.read(text)) for text in ("03/04/2026", "03-04-2026", "03.04.2026")} == {"2026-03-04"}


# ECMA-376-1:2016, 18.17.4.1 and 18.17.4.3: serial 39448 is 2008-01-01 in the 1900 date base.
def test_day_numbers_count_from_1900_and_are_noted_and_from_1904_on_request() -> None:
    column = decided("39448", "46115")
    assert "counted from 1900: 2 cells" in column.note
    assert column.read("39448") == FuzzyDate.on(dt.date(2008, 1, 1))
    assert with_epoch(column, 1904).read("39448") == FuzzyDate.on(dt.date(2012, 1, 2))


@given(st.lists(st.dates(dt.date(1990, 1, 1), dt.date(2027, 12, 31)), min_size=1, max_size=30), st.sampled_from("./-"))
def test_a_column_written_day_first_is_never_read_another_way_in_silence(days: list[dt.date], separator: str) -> None:
    texts = [day.strftime(f"%d{separator}%m{separator}%Y") for day in days]
    decision = decide_dates(texts, TODAY)
    if isinstance(decision, Ambiguous):
        assert Order.DMY in {option.order for option in decision.options}
        decision = decision.settled(Order.DMY, TODAY)
    assert [decision.read(text) for text in texts] == [FuzzyDate.on(day) for day in days]


@given(st.text(max_size=30))
def test_no_text_makes_the_reader_fail_in_any_other_way_than_a_sentence(text: str) -> None:
    decision = decide_dates([text], TODAY)
    column = decision if isinstance(decision, DateFormat) else decision.settled(Order.DMY, TODAY)
    with suppress(Misread):
        assert isinstance(column.read(text), FuzzyDate | None)
