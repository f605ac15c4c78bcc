"""What is written is what was shown, all of it or nothing; and all of it can be taken back."""

from datetime import date
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection

from collection import taxa
from collection.importing import batches
from collection.importing.batches import CannotImport, NotReady
from collection.models import Contact, Due, ImportBatch, ImportMapping, Molt, Specimen, Standing, Taxon
from collection.spreadsheets.cells import Unreadable
from collection.standing import DERIVED
from husbandry.models import Feeding, Place
from tests.factories import SpecimenFactory, TaxonFactory, fed, fresh, molted

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
TODAY = date(2026, 11, 25)
LIST = "Code,Species,Sex,Last molt,Last fed,From,Rack\n"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _taxon(db):
    TaxonFactory(name="Fictor hamatus")


def previewed(text: str, kind: str = "animals") -> ImportBatch:
    batch = batches.receive(text.encode(), "list.csv", kind, None, TODAY)
    batches.preview(batch, TODAY)
    return batch


def committed(text: str, kind: str = "animals") -> ImportBatch:
    batch = previewed(text, kind)
    return batches.commit(batch, batch.plan_hash, None, TODAY)


def rows(number: int) -> str:
    return LIST + "".join(
        f"B-{i},Fictor hamatus,0.1,2026-03-0{i},2026-11-0{i},A friend,Rack 1\n" for i in range(1, number + 1)
    )


def everything() -> dict[str, list[tuple[object, ...]]]:
    """All records that are the keeper's own or derived from them, without the import's own papers and histories."""
    models = [
        model for label in ("collection", "husbandry", "breeding") for model in apps.get_app_config(label).get_models()
    ]
    left_out = {"importbatch", "importmapping", "receipt"}
    kept = [m for m in models if not m.__name__.startswith("Historical") and m._meta.model_name not in left_out]
    return {m._meta.label: sorted(m._default_manager.values_list(), key=repr) for m in kept}


def test_every_record_of_an_import_has_a_history_with_its_reason(keeper):
    batch = previewed(rows(2))
    batch = batches.commit(batch, batch.plan_hash, keeper, TODAY)
    for label in batch.wrote:
        model = apps.get_model(label)
        assert model._default_manager.count() == model.history.filter(history_type="+").count() - (
            label == "collection.taxon"
        )
        assert set(model.history.values_list("history_change_reason", "history_user")) == {(batch.reason, keeper.pk)}


def test_history_rows_hold_what_the_record_holds(db):
    committed(rows(1))
    specimen = Specimen.objects.get()
    kept = specimen.history.get()
    names = [column.attname for column in specimen._meta.concrete_fields]
    assert {name: getattr(kept, name) for name in names} == {name: getattr(specimen, name) for name in names}


def test_standings_and_due_dates_are_worked_out_with_the_import(db):
    committed(rows(3))
    before = (
        list(Standing.objects.order_by("pk").values_list("pk", *DERIVED)),
        list(Due.objects.values_list("specimen", "kind", "due_on")),
    )
    from collection import dues

    dues.refresh_all()
    after = (
        list(Standing.objects.order_by("pk").values_list("pk", *DERIVED)),
        list(Due.objects.values_list("specimen", "kind", "due_on")),
    )
    assert before == after
    assert Due.objects.filter(kind="feed").count() == 3


def test_a_contact_and_a_place_that_many_rows_name_are_written_once(db):
    committed(rows(5))
    assert Contact.objects.count() == Place.objects.count() == 1
    assert Contact.objects.get().sold.count() == 5


def test_rows_are_the_same_however_many_are_written_at_once(db, monkeypatch):
    monkeypatch.setattr("collection.importing.writing.AT_ONCE", 2)
    committed(rows(5))
    assert Specimen.objects.count() == 5
    assert Contact.objects.count() == 1


def test_the_same_form_twice_writes_once(db):
    batch = previewed(rows(2))
    first = batches.commit(batch, batch.plan_hash, None, TODAY)
    second = batches.commit(batch, batch.plan_hash, None, TODAY)
    assert first.pk == second.pk
    assert Specimen.objects.count() == 2
    assert Specimen.history.count() == 2


def test_a_collection_that_changed_since_the_preview_is_shown_again_and_nothing_is_written(db):
    batch = previewed(rows(2))
    SpecimenFactory(code="B-1", taxon=Taxon.objects.get())
    with pytest.raises(CannotImport, match="changed since this preview"):
        batches.commit(batch, batch.plan_hash, None, TODAY)
    assert Specimen.objects.count() == 1
    batch.refresh_from_db()
    assert batch.counts["changed"] == batch.counts["new"] == 1


def test_an_older_preview_is_not_written(db):
    batch = previewed(rows(2))
    with pytest.raises(CannotImport, match="no longer the latest"):
        batches.commit(batch, "0" * 64, None, TODAY)
    assert not Specimen.objects.exists()


def test_a_fault_in_the_middle_leaves_nothing_behind(db, monkeypatch):
    batch = previewed(rows(3))
    before = everything()
    monkeypatch.setattr("collection.dues.refresh", lambda ids: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        batches.commit(batch, batch.plan_hash, None, TODAY)
    assert everything() == before
    assert ImportBatch.objects.get().state == "previewed"


def test_the_bytes_are_kept_until_the_rows_are_written_and_no_longer(db):
    batch = previewed(rows(1))
    assert bytes(ImportBatch.objects.get().data).startswith(b"Code")
    batches.commit(batch, batch.plan_hash, None, TODAY)
    assert ImportBatch.objects.get().data is None


def test_the_same_file_brought_twice_is_one_batch_until_it_is_written(db):
    first, second = (batches.receive(rows(1).encode(), "list.csv", "animals", None, TODAY) for _ in range(2))
    assert first.pk == second.pk


def test_files_left_lying_for_two_weeks_are_thrown_away(db):
    old = previewed(rows(1))
    ImportBatch.objects.filter(pk=old.pk).update(at="2026-11-01T10:00:00Z")
    batches.receive(rows(2).encode(), "other.csv", "animals", None, TODAY)
    assert list(ImportBatch.objects.values_list("filename", flat=True)) == ["other.csv"]


@pytest.mark.parametrize("data", [b"", b"\x00\x01", (SAMPLES / "empty.csv").read_bytes(), b"PK\x03\x04broken"])
def test_a_file_that_cannot_be_read_leaves_no_batch(db, data):
    with pytest.raises(Unreadable):
        batches.receive(data, "x.csv", "animals", None, TODAY)
    assert not ImportBatch.objects.exists()


def test_ambiguous_dates_are_asked_and_remembered_with_the_columns(db):
    data = (SAMPLES / "animals_ambiguous_dates.csv").read_bytes()
    batch = batches.receive(data, "x.csv", "animals", None, TODAY)
    with pytest.raises(NotReady, match="“bought” can be read more than one way"):
        batches.preview(batch, TODAY)
    table = batches.table_of(batch)
    asked = batches.open_questions(batch, table, TODAY).questions
    assert [question.key for question in asked] == ["dates:acquired", "dates:last_fed"]
    batches.settle(batch, table, batch.columns, {question.key: "dmy" for question in asked})
    batch.delete()
    again = batches.receive(data + b"X4,Brachypelma smithi,M,08/09/2025,01/11/2026\n", "y.csv", "animals", None, TODAY)
    assert again.answers == {"dates:acquired": "dmy", "dates:last_fed": "dmy"}
    assert not batches.open_questions(again, batches.table_of(again), TODAY).questions


def test_columns_said_by_hand_are_remembered_for_these_headings(db):
    data = b"Alpha,Beta\nB-1,Fictor hamatus\n"
    batch = batches.receive(data, "x.csv", "animals", None, TODAY)
    batches.settle(batch, batches.table_of(batch), {"code": 0, "species": 1}, {})
    batch.delete()
    assert batches.receive(data, "y.csv", "animals", None, TODAY).columns == {"code": 0, "species": 1}
    assert ImportMapping.objects.count() == 1


def test_a_missing_column_is_named(db):
    batch = batches.receive(b"Alpha,Beta\n1,2\n", "x.csv", "animals", None, TODAY)
    with pytest.raises(NotReady, match="Say which column holds: Code, Species"):
        batches.preview(batch, TODAY)


def test_an_undo_leaves_the_collection_as_it_was(db):
    SpecimenFactory(code="B-1", taxon=Taxon.objects.get())
    fresh(Specimen.objects.get())
    before = everything()
    batch = committed(rows(4))
    assert everything() != before
    batches.undo(batch, None)
    assert everything() == before
    assert ImportBatch.objects.get().state == "undone"


def test_an_undo_of_every_sample_leaves_the_collection_as_it_was(db):
    taxa.seed()
    before = everything()
    done = []
    for name, kind in (
        ("animals_messy.xlsx", "animals"),
        ("molts.csv", "molts"),
        ("feedings.xlsx", "feedings"),
        ("pairings.xlsx", "pairings"),
    ):
        batch = batches.receive((SAMPLES / name).read_bytes(), name, kind, None, TODAY)
        batches.preview(batch, TODAY)
        done.append(batches.commit(batch, batch.plan_hash, None, TODAY))
    for batch in reversed(done):
        batches.undo(batch, None)
    assert everything() == before


def test_an_undo_says_in_the_history_what_it_took_out(db, keeper):
    batch = committed(rows(1))
    batches.undo(batch, keeper)
    last = Specimen.history.order_by("-history_id")[0]
    assert (last.history_type, last.history_change_reason, last.history_user) == (
        "-",
        f"undo of {batch.reason}",
        keeper,
    )


def test_an_undo_is_refused_when_something_was_built_on_the_import(db):
    batch = committed(rows(2))
    fed(Specimen.objects.get(code="B-1"), date(2026, 11, 20))
    with pytest.raises(CannotImport, match="1 feeding was entered since"):
        batches.undo(batch, None)
    assert Specimen.objects.count() == 2


def test_an_undo_is_refused_when_an_imported_record_was_changed_since(db):
    batch = committed(rows(2))
    specimen = Specimen.objects.get(code="B-1")
    specimen.locality = "Oaxaca"
    specimen.save()
    with pytest.raises(CannotImport, match="1 specimen of this import was changed since"):
        batches.undo(batch, None)


def test_what_was_changed_and_changed_back_does_not_stop_an_undo(db):
    batch = committed(rows(1))
    molt = Molt.objects.get()
    molt.instar = 5
    molt.save()
    molt.instar = None
    molt.save()
    batches.undo(batch, None)
    assert not Specimen.objects.exists()


def test_an_import_is_taken_back_once(db):
    batch = committed(rows(1))
    batches.undo(batch, None)
    with pytest.raises(CannotImport, match="taken back already"):
        batches.undo(batch, None)


def test_a_changed_animal_gets_back_what_it_had(db):
    specimen = SpecimenFactory(code="B-1", taxon=Taxon.objects.get(), locality="Oaxaca")
    molted(specimen, date(2026, 3, 1))
    batch = committed("Code,Species,Locality,Last molt\nB-1,Fictor hamatus,Guerrero,2026-03-01\n")
    specimen.refresh_from_db()
    assert specimen.locality == "Guerrero"
    batches.undo(batch, None)
    specimen.refresh_from_db()
    assert specimen.locality == "Oaxaca"
    assert Molt.objects.count() == 1


def test_ten_rows_more_cost_no_query_more(db, django_assert_num_queries):
    small, large = previewed(rows(2)), previewed(LIST + "".join(f"C-{i},Fictor hamatus,,,,,\n" for i in range(12)))
    for batch in (small, large):
        batch.refresh_from_db()
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as first:
        batches.preview(small, TODAY)
    with django_assert_num_queries(len(first)):
        batches.preview(large, TODAY)


def test_feedings_of_an_import_are_plain_feedings(db):
    committed(rows(1))
    feeding = Feeding.objects.get()
    assert (feeding.on, feeding.outcome, feeding.key) == (date(2026, 11, 1), "taken", None)
