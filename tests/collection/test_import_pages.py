"""The import in the browser, without a script: each step, each refusal, and who may."""

import re
from datetime import date
from pathlib import Path

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from collection import taxa
from collection.models import ImportBatch, Specimen
from tests.factories import TaxonFactory, fed

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _in_november():
    with time_machine.travel("2026-11-25T09:00:00+00:00", tick=True):
        yield


@pytest.fixture
def client(keeper_client) -> Client:
    TaxonFactory(name="Fictor hamatus")
    return keeper_client


def upload(client: Client, data: bytes, name: str = "list.csv", kind: str = "animals"):
    return client.post(reverse("collection:import-list"), {"kind": kind, "file": SimpleUploadedFile(name, data)})


def address(name: str, batch: ImportBatch) -> str:
    return reverse(f"collection:import-{name}", args=[batch.pk])


def as_guessed(client: Client, batch: ImportBatch, **changes: str):
    """The page with the columns, sent as it stands."""
    form = client.get(address("columns", batch)).context["form"]
    values = {name: form[name].value() for name in form.fields}
    return client.post(address("columns", batch), {**values, "as_of": "2026-11-25", **changes})


def previewed(client: Client, data: bytes = b"Code,Species\nB-1,Fictor hamatus\nB-2,Fictor hamatus\n") -> ImportBatch:
    upload(client, data)
    batch = ImportBatch.objects.latest("pk")
    assert as_guessed(client, batch).headers["Location"] == address("questions", batch)
    assert client.get(address("questions", batch)).headers["Location"] == address("detail", batch)
    batch.refresh_from_db()
    return batch


def test_the_messy_workbook_goes_in_by_upload_columns_preview_and_one_button(client):
    taxa.seed()
    upload(client, (SAMPLES / "animals_messy.xlsx").read_bytes(), "animals_messy.xlsx")
    batch = ImportBatch.objects.get()
    as_guessed(client, batch)
    client.get(address("questions", batch))
    page = client.get(address("detail", batch)).content.decode()
    assert "39 of 44 rows would be written" in page
    assert "The code B-003 stands in row 7 already." in page
    assert not Specimen.objects.exists()
    plan = re.search(r'name="plan" value="(\w{64})"', page)[1]
    client.post(address("commit", batch), {"plan": plan})
    assert Specimen.objects.count() == 39
    assert Specimen.history.filter(history_user__username="keeper").count() == 39


def test_a_file_without_questions_goes_straight_to_its_rows(client):
    batch = previewed(client)
    page = client.get(address("detail", batch))
    assert page.status_code == 200
    assert "2 of 2 rows would be written" in page.content.decode()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "The submitted file is empty"),
        (b"%PDF-1.7", "This is a PDF"),
        (b"\x00\x01\x02", "holds signs that no text has"),
        (b",".join([b"c"] * 300), "300 columns"),
        (b'Code,Notes\nA,"' + b"x" * 10_000_000, "In row 2 one cell"),
    ],
)
def test_a_bad_file_gets_a_sentence_and_422_and_leaves_nothing(client, data, words):
    response = upload(client, data)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not ImportBatch.objects.exists()


def test_no_file_at_all_and_an_unknown_kind_are_refused(client):
    response = client.post(reverse("collection:import-list"), {"kind": "spoons"})
    assert response.status_code == 422
    assert {"kind", "file"} == set(response.context["form"].errors)


def test_ambiguous_dates_are_asked_and_not_answering_is_refused(client):
    taxa.seed()
    upload(client, (SAMPLES / "animals_ambiguous_dates.csv").read_bytes())
    batch = ImportBatch.objects.get()
    as_guessed(client, batch)
    page = client.get(address("questions", batch))
    assert "03/04/2024 is 3 April 2024" in page.content.decode()
    assert "03/04/2024 is 4 March 2024" in page.content.decode()
    assert client.post(address("questions", batch), {}).status_code == 422
    assert client.post(address("questions", batch), {"dates:acquired": "dmy"}).status_code == 422
    done = client.post(address("questions", batch), {"dates:acquired": "dmy", "dates:last_fed": "mdy"})
    assert done.headers["Location"] == address("detail", batch)
    batch.refresh_from_db()
    assert "acquired 2024-04-03" in batch.rows[0][3][0]
    assert "fed 2026-10-11" in batch.rows[0][3]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"column_0": "-"}, "Say which column holds: Code."),
        ({"column_1": "code"}, "“Code” is Code already"),
        ({"column_0": "spoon"}, "Select a valid choice"),
        ({"as_of": "2027-01-01"}, "lies in the future"),
        ({"as_of": "soon"}, "Enter a valid date"),
        ({"new_group": "dragon"}, "Select a valid choice"),
    ],
)
def test_columns_that_make_no_sense_are_refused_and_what_was_chosen_stays(client, changes, words):
    upload(client, b"Code,Species\nB-1,Fictor hamatus\n")
    batch = ImportBatch.objects.get()
    response = as_guessed(client, batch, **changes)
    assert response.status_code == 422
    assert words in response.content.decode()
    name, value = next(iter(changes.items()))
    assert response.context["form"][name].value() == value


def test_another_sheet_can_be_read_and_its_columns_are_guessed_anew(client):
    upload(client, (SAMPLES / "animals_messy.xlsx").read_bytes(), "animals_messy.xlsx")
    batch = ImportBatch.objects.get()
    client.post(address("sheet", batch), {"sheet": "Wish list"})
    batch.refresh_from_db()
    assert (batch.sheet, batch.columns) == ("Wish list", {"species": 0})
    client.post(address("sheet", batch), {"sheet": "No such sheet"})
    batch.refresh_from_db()
    assert batch.sheet == "Wish list"


def test_rows_are_shown_by_outcome_and_in_pages(client):
    rows = "".join(f"B-{i},Fictor hamatus\n" for i in range(150)) + "B-200,Nothing known\n"
    batch = previewed(client, f"Code,Species\n{rows}".encode())
    assert len(client.get(address("detail", batch)).context["page"]) == 100
    refused = client.get(address("detail", batch) + "?show=refused")
    assert [row[1] for row in refused.context["page"]] == ["B-200"]
    assert len(client.get(address("detail", batch) + "?page=2").context["page"]) == 51


def test_a_preview_that_is_no_longer_true_is_not_written(client):
    batch = previewed(client)
    response = client.post(address("commit", batch), {"plan": "0" * 64}, follow=True)
    assert "no longer the latest one" in response.content.decode()
    assert not Specimen.objects.exists()


def test_undo_takes_the_whole_import_back_or_says_what_stands_against_it(client):
    batch = previewed(client)
    client.post(address("commit", batch), {"plan": batch.plan_hash})
    meal = fed(Specimen.objects.get(code="B-1"), date(2026, 11, 20))
    refused = client.post(address("undo", batch), follow=True)
    assert "1 feeding was entered since" in refused.content.decode()
    meal.delete()
    client.post(address("undo", batch))
    assert not Specimen.objects.exists()
    assert "Taken back on" in client.get(address("detail", batch)).content.decode()


def test_a_file_that_was_not_written_can_be_thrown_away_and_one_that_was_cannot(client):
    batch = previewed(client)
    client.post(address("commit", batch), {"plan": batch.plan_hash})
    assert client.post(address("discard", batch)).status_code == 404
    other = previewed(client, b"Code,Species\nC-1,Fictor hamatus\n")
    client.post(address("discard", other))
    assert list(ImportBatch.objects.all()) == [batch]
    assert client.get(address("columns", batch)).status_code == 404


@pytest.mark.parametrize("name", ["commit", "undo", "discard", "sheet"])
def test_writing_addresses_take_posts_only(client, name):
    assert client.get(address(name, previewed(client))).status_code == 405


@pytest.mark.parametrize("name", ["detail", "columns", "questions", "commit", "undo", "discard", "sheet"])
def test_helpers_do_not_import(client, helper_client, name):
    batch = previewed(client)
    assert helper_client.get(address(name, batch)).status_code == 403
    assert helper_client.post(address(name, batch)).status_code == 403
    assert helper_client.get(reverse("collection:import-list")).status_code == 403
