"""Every sample file reads as a table, whatever its encoding, delimiter or title rows."""

import datetime as dt
import io
from pathlib import Path

import openpyxl
import pytest

from collection.spreadsheets.tables import Table, read_table

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"


def sample(name: str) -> Table:
    return read_table((SAMPLES / name).read_bytes(), name)


def table(text: str) -> Table:
    return read_table(text.encode(), "test.csv")


@pytest.mark.parametrize(
    ("name", "encoding", "delimiter", "rows"),
    [
        ("animals_semicolon_cp1252.csv", "Windows-1252", ";", 8),
        ("animals_month_first.csv", "UTF-8", ",", 6),
        ("animals_serial_days.csv", "UTF-16", "\t", 4),
        ("animals_ambiguous_dates.csv", "UTF-8", ",", 3),
        ("animals_messy.xlsx", "", "", 44),
        ("molts.csv", "UTF-8", ",", 12),
        ("feedings.xlsx", "", "", 11),
        ("pairings.xlsx", "", "", 7),
    ],
)
def test_each_sample_is_read_with_its_own_encoding_and_delimiter(
    name: str, encoding: str, delimiter: str, rows: int
) -> None:
    read = sample(name)
    assert (read.encoding, read.delimiter, len(read.rows), len(read.numbers)) == (encoding, delimiter, rows, rows)


def test_a_guessed_encoding_is_said_and_keeps_the_umlauts() -> None:
    read = sample("animals_semicolon_cp1252.csv")
    assert "guess" in read.notes[0]
    assert read.rows[0][read.headings.index("Bemerkungen")] == "Mäuschen; ruhig"


def test_headings_below_title_rows_are_found_and_rows_keep_their_own_numbers() -> None:
    read = sample("animals_messy.xlsx")
    assert read.headings[:3] == ("ID", "Species", "Sex")
    assert read.numbers[0] == 5
    assert read.numbers[16:18] == [21, 23]  # row 22 is blank
    assert "2 rows above the headings left out." in read.notes


def test_two_columns_of_one_name_are_told_apart_and_noted() -> None:
    read = sample("animals_messy.xlsx")
    assert read.headings[-2:] == ("Notes", "Notes (2)")
    assert any("more than once" in note for note in read.notes)


def test_a_workbook_names_the_sheet_it_was_read_from_and_another_can_be_asked_for() -> None:
    data = (SAMPLES / "animals_messy.xlsx").read_bytes()
    assert sample("animals_messy.xlsx").sheet == "Animals"
    assert read_table(data, "x.xlsx", sheet="Wish list").headings == ("Species", "where")


def test_a_workbooks_own_dates_and_numbers_keep_their_kind() -> None:
    read = sample("animals_messy.xlsx")
    first = dict(zip(read.headings, read.rows[0], strict=True))
    assert first["Bought"] == dt.datetime(2016, 5, 7)  # noqa: DTZ001 - a workbook's dates have no zone
    assert first["Size (cm)"] == 14


def test_a_sep_line_is_honoured_even_against_the_look_of_the_rows() -> None:
    assert table("sep=|\nCode|Art, Sorte\nA|x, y\n").rows == [("A", "x, y")]


def test_quoted_cells_may_hold_delimiters_and_line_breaks() -> None:
    read = table('Code,Notes\r\nA,"line 1\r\nline 2; with ; and ,"\r\nB,x\r\n')
    assert read.rows == [("A", "line 1\r\nline 2; with ; and ,"), ("B", "x")]
    assert read.numbers == [2, 3]


def test_short_rows_are_filled_and_long_rows_get_a_column_of_their_own_with_a_note() -> None:
    read = table("Code,Species\nA\nB,x,more\n")
    assert read.headings == ("Code", "Species", "Column C")
    assert read.rows == [("A", "", ""), ("B", "x", "more")]
    assert any("longer than the headings" in note for note in read.notes)


def test_headings_repeated_on_every_printed_page_are_left_out() -> None:
    read = table("Code,Species\nA,x\nCode,Species\nB,y\n")
    assert [row[0] for row in read.rows] == ["A", "B"]
    assert any("repeated" in note for note in read.notes)


def test_unknown_headings_are_found_as_the_first_row_of_words() -> None:
    assert table("list of 2026\n\nfoo,bar,baz\n1,2,3\n4,5,6\n").headings == ("foo", "bar", "baz")


def test_an_apostrophe_put_there_by_our_own_export_is_taken_off_again() -> None:
    assert table("Code,Notes\nA,'=1+1\nB,'tis big\n").column(1) == ["=1+1", "'tis big"]


def test_a_table_of_headings_only_has_no_rows() -> None:
    assert table("Code,Species\n").rows == []


def test_no_row_is_lost_between_the_rows_looked_at_for_headings_and_the_rest() -> None:
    read = table("Code,Species\n" + "".join(f"A{i},x\n" for i in range(100)))
    assert [row[0] for row in read.rows] == [f"A{i}" for i in range(100)]
    assert read.numbers == list(range(2, 102))


def test_one_column_is_a_table_too() -> None:
    assert table("Code\nA\nB\n").rows == [("A",), ("B",)]


def test_a_workbook_formatted_beyond_its_filled_cells_is_as_wide_as_what_is_filled() -> None:
    book = openpyxl.Workbook()
    book.active.append(["Code", "Species"])
    book.active.append(["A", "x"])
    book.active.cell(5, 300).number_format = "0.00"
    file = io.BytesIO()
    book.save(file)
    assert read_table(file.getvalue(), "wide.xlsx").headings == ("Code", "Species")
