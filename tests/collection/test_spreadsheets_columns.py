"""Headings in English and German find their fields; what is exported cannot run as a formula."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.spreadsheets.cells import safe_cell, unguarded
from collection.spreadsheets.columns import guess_columns, normal_heading
from collection.spreadsheets.tables import read_table

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"


def guessed(name: str, kind: str) -> dict[str, str]:
    table = read_table((SAMPLES / name).read_bytes(), name)
    return {
        field: table.headings[index] for field, index in guess_columns(table.headings, table.rows[:100], kind).items()
    }


def test_german_headings_are_understood() -> None:
    found = guessed("animals_semicolon_cp1252.csv", "animals")
    assert found["code"] == "Nr."
    assert found["species"] == "Art"
    assert found["leg_span"] == "DLS (cm)"
    assert found["acquired"] == "Gekauft am"
    assert found["last_molt"] == "Letzte Häutung"
    assert found["last_fed"] == "Zuletzt gefüttert"


def test_every_column_of_the_messy_workbook_is_guessed_but_the_second_notes() -> None:
    found = guessed("animals_messy.xlsx", "animals")
    assert len(found) == 17
    assert (found["enclosure"], found["place"], found["rhythm"], found["notes"]) == (
        "Box",
        "Rack",
        "feed every",
        "Notes",
    )


@pytest.mark.parametrize(
    ("name", "kind", "fields"),
    [
        ("molts.csv", "molts", {"code", "date", "instar", "leg_span", "exuvia", "sex", "notes"}),
        ("feedings.xlsx", "feedings", {"code", "date", "prey", "size", "number", "outcome"}),
        ("pairings.xlsx", "pairings", {"female", "male", "date", "insertions", "outcome", "notes"}),
    ],
)
def test_the_other_kinds_are_guessed_too(name: str, kind: str, fields: set[str]) -> None:
    assert set(guessed(name, kind)) == fields


def test_a_date_field_is_not_given_to_a_column_of_words() -> None:
    rows = [("A", "yes", "2026-01-02"), ("B", "no", "2026-03-04")]
    assert guess_columns(["Code", "Molted", "Last molt date"], rows, "animals")["last_molt"] == 2


def test_a_column_of_scientific_names_is_the_species_whatever_it_is_called() -> None:
    rows = [("1", "Brachypelma hamorii"), ("2", "G. pulchra"), ("3", "")]
    assert guess_columns(["No", "Name"], rows, "animals") == {"code": 0, "species": 1}


def test_each_column_and_each_field_is_used_once() -> None:
    found = guess_columns(["Date", "Date acquired", "Notes on feeding", "Last fed"], [], "animals")
    assert found == {"acquired": 1, "notes": 2, "last_fed": 3}


def test_an_unknown_kind_is_an_error_of_the_caller() -> None:
    with pytest.raises(KeyError):
        guess_columns(["Code"], [], "spoons")


def test_units_umlauts_and_signs_do_not_matter_in_a_heading() -> None:
    assert normal_heading("Größe (cm)") == normal_heading("GROESSE") == "groesse"


@pytest.mark.parametrize(
    ("value", "written"),
    [
        ("=HYPERLINK(1)", "'=HYPERLINK(1)"),
        ("+cmd", "'+cmd"),
        ("@x", "'@x"),
        ("\t=1", "'\t=1"),
        (" =1", "' =1"),
        ("-2+3", "'-2+3"),
        ("＝1", "'＝1"),
        ("-5", "-5"),
        ("-1,5", "-1,5"),
        ("ok", "ok"),
        (-5, -5),
        (None, None),
    ],
)
def test_text_that_would_run_as_a_formula_gets_an_apostrophe(value: object, written: object) -> None:
    assert safe_cell(value) == written


@given(st.text(max_size=12))
def test_what_is_exported_comes_back_as_it_was(text: str) -> None:
    written = safe_cell(text)
    assert isinstance(written, str)
    assert not written.startswith(("=", "+", "@")) or written.lstrip("+").replace(",", "").replace(".", "").isdigit()
    if not text.startswith("'"):
        assert unguarded(written) == text
