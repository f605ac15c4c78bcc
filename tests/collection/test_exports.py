"""Lists leave the house as spreadsheets: harmless, readable in either dialect, and back as the same."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook

from collection.dates import FuzzyDate
from collection.models import GroupCount
from collection.spreadsheets.outgoing import DIALECTS, INTERNATIONAL, LOCAL, csv_lines, text_cell, write_workbook
from collection.spreadsheets.tables import read_table
from husbandry.models.label import LabelAddress
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
CELLS = {
    "text": ("calm", "calm", "calm"),
    "formula": ("=1+1", "'=1+1", "'=1+1"),
    "at": ("@SUM(A1)", "'@SUM(A1)", "'@SUM(A1)"),
    "minus in words": ("-- see below", "'-- see below", "'-- see below"),
    "tab": ("\tx", "'\tx", "'\tx"),
    "a number in words": ("-5", "-5", "-5"),
    "number": (12.5, "12.5", "12,5"),
    "negative": (-1.5, "-1.5", "-1,5"),
    "not a thousand": (1.125, "1.1250", "1,1250"),
    "money": (Decimal("45.50"), "45.5", "45,5"),
    "whole": (3, "3", "3"),
    "yes": (True, "yes", "yes"),
    "nothing": (None, "", ""),
    "day": (date(2026, 3, 4), "2026-03-04", "2026-03-04"),
    "month": (FuzzyDate.parse("2026-03"), "2026-03", "2026-03"),
    "range": (FuzzyDate.parse("2026-03-01/2026-03-09"), "2026-03-01/2026-03-09", "2026-03-01/2026-03-09"),
}


@pytest.mark.parametrize("name", CELLS)
def test_a_cell_is_harmless_and_of_its_dialect(name):
    value, international, local = CELLS[name]
    assert (text_cell(value, "."), text_cell(value, ",")) == (international, local)


def test_a_workbook_holds_days_as_days_and_nothing_that_runs():
    file = io.BytesIO()
    write_workbook(file, "Cells", ["name", "value"], [(name, value) for name, (value, *_) in CELLS.items()])
    sheet = load_workbook(file).active
    found = {row[0].value: row[1] for row in sheet.iter_rows(min_row=2)}
    assert not any(cell.data_type == "f" for cell in found.values())
    assert (found["formula"].value, found["number"].value, found["nothing"].value) == ("'=1+1", 12.5, None)
    assert (found["day"].value.date(), found["month"].value, found["yes"].value) == (date(2026, 3, 4), "2026-03", "yes")
    assert sheet.freeze_panes == "A2"


def test_a_sign_that_a_workbook_cannot_hold_is_left_out():
    file = io.BytesIO()
    write_workbook(file, "Signs", ["a"], [("bell\x07 and more",)])
    assert load_workbook(file).active["A2"].value == "bell and more"


@pytest.mark.parametrize("dialect", [INTERNATIONAL, LOCAL])
def test_what_is_written_reads_back_as_what_it_was(dialect):
    rows = [("=1+1; x, y", 12.5), ("-- “so” it is\nsecond line", 1.5), ("'plain", 3)]
    data = b"".join(csv_lines(["words", "number"], rows, dialect))
    assert data.startswith(b"\xef\xbb\xbf")
    table = read_table(data, "list.csv")
    assert [row[0] for row in table.rows] == [words for words, _ in rows]


def fetched(client, kind, form="csv", **filters):
    answer = client.get(reverse("collection:export-file", args=[kind]), {"as": form, **filters})
    content = b"".join(answer.streaming_content)
    answer.close()
    return content


def rows_of(client, kind, **filters):
    return list(csv.DictReader(io.StringIO(fetched(client, kind, **filters).decode("utf-8-sig"))))


@pytest.fixture
def animal():
    LabelAddress.objects.create(pk=1, address="HTTP://RACK.LOCAL:8000")
    dam = make.female(code="A-9")
    animal = make.SpecimenFactory(code="A-1", name="=HYPERLINK()", dam=dam, taxon=dam.taxon, clutch="A-9/1")
    make.housed(animal, "E-7", place=make.place("Shelf one"))
    make.molted(animal, date(2026, 5, 1), date(2026, 5, 9), leg_span_mm=120.5, exuvia_kept=True, instar=7)
    make.fed(animal, date(2026, 11, 3), prey="roach", prey_mm=22.0, number=2)
    make.looked(animal, "female", looked_by="somebody")
    return animal


def test_a_list_of_animals_tells_codes_tags_and_the_address_of_the_label(keeper_client, animal):
    row = rows_of(keeper_client, "animals")[0]
    assert (row["code"], row["tag"], row["own name"]) == ("A-1", animal.tag, "'=HYPERLINK()")
    assert (row["last molt"], row["dam"], row["enclosure"]) == ("2026-05-01/2026-05-09", "A-9", "E-7")
    assert (row["stands in"], row["last fed"], row["verdict"]) == ("Shelf one", "2026-11-03", "probably female")
    assert row["label address"] == f"HTTP://RACK.LOCAL:8000/Q/{animal.tag}"


def test_molts_meals_and_evidence_are_rows_of_their_own(keeper_client, animal):
    [molt] = rows_of(keeper_client, "molts")
    assert (molt["date"], molt["leg span (mm)"], molt["instar"]) == ("2026-05-01/2026-05-09", "120.5", "7i")
    [meal] = rows_of(keeper_client, "feedings")
    assert (meal["prey"], meal["prey size"], meal["outcome"]) == ("roach", "22 mm", "taken")
    looks = rows_of(keeper_client, "evidence")
    assert [(look["code"], look["finding"], look["who"]) for look in looks] == [
        ("A-1", "female", "somebody"),
        ("A-9", "female", ""),
    ]


def test_the_list_holds_what_the_register_shows(keeper_client, animal):
    make.left(make.SpecimenFactory(code="A-2"), date(2026, 6, 1))
    assert [row["code"] for row in rows_of(keeper_client, "animals")] == ["A-1", "A-9"]
    assert len(rows_of(keeper_client, "animals", status="all")) == 3
    assert [row["code"] for row in rows_of(keeper_client, "animals", q="a-9")] == ["A-9"]
    page = keeper_client.get(reverse("collection:export-page"), {"q": "a-9", "status": "all"}).content.decode()
    assert "1 animal, as the register is narrowed" in page
    assert '<input type="hidden" name="q" value="a-9">' in page
    assert "No animal passes" in keeper_client.get(reverse("collection:export-page"), {"q": "zzz"}).content.decode()


def test_a_group_has_its_count_and_no_sex(keeper_client):
    group = make.SpecimenFactory(code="G-1", kind="group")
    GroupCount.objects.create(specimen=group, count=12, earliest=date(2026, 1, 1))
    from collection import dues

    dues.refresh([group.pk])
    row = rows_of(keeper_client, "animals")[0]
    assert (row["count"], row["verdict"], row["kept as"]) == ("12", "", "communal group")


def test_ten_animals_more_ask_no_question_more(keeper_client, animal):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            for kind in ("animals", "molts", "feedings", "evidence"):
                fetched(keeper_client, kind)
        return len(queries)

    few = asked()
    for n in range(10):
        make.fed(make.female(code=f"N-{n}", dam=animal), date(2026, 11, 2))
    assert asked() == few


@pytest.mark.parametrize("form", ["xlsx", *DIALECTS])
def test_every_kind_of_file_is_handed_out_as_a_file(keeper_client, animal, form):
    answer = keeper_client.get(reverse("collection:export-file", args=["animals"]), {"as": form})
    b"".join(answer.streaming_content)
    answer.close()
    ending = "xlsx" if form == "xlsx" else "csv"
    assert answer["Content-Disposition"] == f'attachment; filename="scopula-animals-2026-12-04.{ending}"'
    assert answer["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize(("kind", "form"), [("nothing", "csv"), ("animals", "pdf")])
def test_what_there_is_not_is_a_missing_page(keeper_client, kind, form):
    assert keeper_client.get(reverse("collection:export-file", args=[kind]), {"as": form}).status_code == 404


def test_a_helper_takes_nothing_out(helper_client):
    assert helper_client.get(reverse("collection:export-page")).status_code == 403
    assert helper_client.get(reverse("collection:export-file", args=["animals"])).status_code == 403
