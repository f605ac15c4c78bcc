"""A messy list of animals becomes records: each row is shown, and what is wrong with it is said."""

from datetime import date
from pathlib import Path

import pytest

from collection import taxa
from collection.dates import FuzzyDate
from collection.importing import batches
from collection.models import (
    Death,
    Departure,
    GroupCount,
    ImportBatch,
    Measurement,
    Molt,
    Note,
    SexEvidence,
    Specimen,
    Standing,
    Taxon,
)
from tests import factories as make
from tests.factories import SpecimenFactory, TaxonFactory

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
TODAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


@pytest.fixture
def seeded(db):
    taxa.seed()


def previewed(data: bytes | str, name: str = "list.csv", kind: str = "animals", **settings: object) -> ImportBatch:
    batch = batches.receive(data.encode() if isinstance(data, str) else data, name, kind, None, TODAY)
    for field, value in settings.items():
        setattr(batch, field, value)
    batch.save()
    batches.preview(batch, TODAY)
    return batch


def imported(data: bytes | str, name: str = "list.csv", kind: str = "animals", **settings: object) -> ImportBatch:
    batch = previewed(data, name, kind, **settings)
    return batches.commit(batch, batch.plan_hash, None, TODAY)


def lines(batch: ImportBatch) -> dict[int, tuple[str, str]]:
    return {number: (outcome, " · ".join(said)) for number, _, outcome, said in batch.rows}


def animals(*rows: str) -> str:
    return "\n".join(["Code,Species,Sex,Stage,Size mm,Hatched,Acquired,Last molt,Died,Status,Notes", *rows])


def only_row(text: str, **settings: object) -> tuple[str, str]:
    TaxonFactory(name="Fictor hamatus")
    return lines(previewed(animals(text), **settings))[2]


def messy() -> bytes:
    return (SAMPLES / "animals_messy.xlsx").read_bytes()


def test_the_messy_workbook_brings_39_animals_and_says_why_5_rows_are_refused(seeded):
    batch = previewed(messy(), "animals_messy.xlsx")
    assert batch.counts == {"new": 39, "changed": 0, "same": 0, "refused": 5}
    refused = {number: said for number, (outcome, said) in lines(batch).items() if outcome == "refused"}
    assert "stands in row 7 already" in refused[44]
    assert "not among your species" in refused[45]
    assert "lies in the future" in refused[46]
    assert "No code" in refused[47]
    assert "Size (cm): “big” is not a size" in refused[48]


def test_nothing_is_written_by_a_preview(seeded):
    previewed(messy(), "animals_messy.xlsx")
    assert not Specimen.objects.exists()
    assert not Taxon.objects.filter(source="added by an import").exists()


def test_species_are_found_by_old_names_abbreviations_and_one_wrong_letter(seeded):
    batch = imported(messy(), "animals_messy.xlsx")
    named = dict(Specimen.objects.values_list("code", "taxon__name"))
    assert named["T-001"] == "Tliltocatl albopilosus"
    assert named["B-002"] == named["B-004"] == "Brachypelma hamorii"
    assert named["P-004"] == "Poecilotheria metallica"
    assert "Brachypelma albopilosum read as Tliltocatl albopilosus" in lines(batch)[9][1]


def test_sexes_become_evidence_with_the_doubt_they_were_written_with(seeded):
    imported(messy(), "animals_messy.xlsx")
    found = {
        (code, method, finding, sure)
        for code, method, finding, sure in SexEvidence.objects.values_list(
            "specimen__code", "method", "finding", "confident"
        )
        if code in {"B-001", "B-003", "T-002", "T-003", "C-001", "TS-01"}
    }
    assert found == {
        ("B-001", "record", "female", True),
        ("B-003", "record", "female", False),
        ("T-002", "record", "male", True),
        ("T-002", "mature_male", "male", True),
        ("C-001", "record", "female", True),  # the number 0.1
        ("TS-01", "record", "male", False),  # the number 1: what a sheet leaves of 1.0
    }


def test_groups_get_a_head_count_and_say_whether_it_was_counted(seeded):
    imported(messy(), "animals_messy.xlsx")
    found = list(
        GroupCount.objects.order_by("specimen__code").values_list("specimen__code", "specimen__kind", "count", "method")
    )
    assert found == [
        ("H-001", "group", 3, "counted"),
        ("ISO-1", "culture", 200, "guessed"),
        ("M-001", "group", 12, "counted"),
    ]
    assert "sexes by the list: 1.2.0" in Note.objects.get(specimen__code="H-001").text
    assert Standing.objects.get(specimen__code="M-001").head_count == 12


def test_a_size_is_the_measure_that_its_taxon_is_measured_by(seeded):
    imported(messy(), "animals_messy.xlsx")
    spider = Measurement.objects.get(specimen__code="B-002")
    scorpion = Measurement.objects.get(specimen__code="S-01")
    assert (spider.leg_span_mm, spider.body_mm) == (135, None)
    assert (scorpion.leg_span_mm, scorpion.body_mm) == (None, 150)


def test_the_last_molt_keeps_its_precision_and_takes_the_instar(seeded):
    imported(messy(), "animals_messy.xlsx")
    assert Molt.objects.get(specimen__code="G-004").when == FuzzyDate.parse("2024")
    molt = Molt.objects.get(specimen__code="A-002")
    assert (str(molt.when), molt.instar, molt.numbering) == ("2026-11-03", 4, "L")
    assert Molt.objects.get(specimen__code="T-002").matured


def test_an_animal_that_died_keeps_its_records_and_its_end(seeded):
    imported(messy(), "animals_messy.xlsx")
    assert str(Death.objects.get(specimen__code="D-01").when) == "2025-02-20"
    standing = Standing.objects.get(specimen__code="D-01")
    assert standing.status == "dead"
    assert not standing.specimen.dues.exists()
    assert SexEvidence.objects.get(specimen__code="D-01").latest == date(2025, 2, 20)


@pytest.mark.parametrize(
    ("name", "codes"),
    [
        ("animals_semicolon_cp1252.csv", "V01 V02 V03 V04 V05 V06 V07 V08"),
        ("animals_month_first.csv", "A-101 A-102 A-103 A-104 A-105 A-106"),
        ("animals_serial_days.csv", "S1 S2 S3 S4"),
    ],
)
def test_each_other_sample_comes_in_whole(seeded, name, codes):
    batch = imported((SAMPLES / name).read_bytes(), name)
    assert batch.state == "committed"
    assert list(Specimen.objects.order_by("code").values_list("code", flat=True)) == codes.split()


def test_the_samples_dates_and_prices_are_what_their_keepers_meant(seeded):
    for name in ("animals_semicolon_cp1252.csv", "animals_month_first.csv", "animals_serial_days.csv"):
        imported((SAMPLES / name).read_bytes(), name)
    found = {s.code: (str(s.acquired), s.price and float(s.price)) for s in Specimen.objects.all()}
    assert found["V05"] == ("2018", None)
    assert found["V07"] == ("2026-02-03", 1090.0)
    assert found["A-101"] == ("2017-05-12", 40.0)
    assert found["A-106"] == ("2019-02-14", 1050.5)
    assert found["S1"] == ("2020-11-14", None)


def test_importing_the_same_file_again_changes_nothing(seeded):
    imported(messy(), "animals_messy.xlsx")
    again = previewed(messy(), "animals_messy.xlsx")
    assert again.counts == {"new": 0, "changed": 0, "same": 39, "refused": 5}


def test_a_known_code_changes_that_animal_and_empty_cells_change_nothing(db):
    specimen = SpecimenFactory(code="B-1", taxon__name="Fictor hamatus", locality="Oaxaca")
    outcome, said = lines(imported(animals("b-1,Fictor hamatus,,,,2023-05,,,,,")))[2]
    specimen.refresh_from_db()
    assert outcome == "changed"
    assert said == "hatched: nothing → 2023-05"
    assert (str(specimen.hatched), specimen.locality, str(specimen.acquired)) == ("2023-05", "Oaxaca", "2024-11-01")


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        (",Fictor hamatus,,,,,,,,,", "No code"),
        ("B-1,,,,,,,,,,", "No species"),
        ("B-1,Fictor hamatus,,,,2027,,,,,", "Hatched: 2027 lies in the future"),
        ("B-1,Fictor hamatus,,,,2025,2024,,,,", "acquired before it hatched"),
        ("B-1,Fictor hamatus,,,,,2025,,2024,,", "died before it was acquired"),
        ("B-1,Fictor hamatus,,,,,,2026-05,2025,,", "molted after it died"),
        ("B-1,Fictor hamatus,,,,,,,2025,alive,", "said to be alive, but a date of death"),
        ("B-1,Fictor hamatus,,,,,,,,asleep,", "is no status"),
        ("B-1,Fictor hamatus,spider,,,,,,,,", "is not a sex"),
        ("B-1,Fictor hamatus,,teen,,,,,,,", "is not a stage"),
        ("B-1,Fictor hamatus,,,900,,,,,,", "no animal kept here is that long"),
        ("B-1,Fictor hamatus,,,0,,,,,,", "a size is more than 0"),
        ("B-1,Fictor hamatus,,,,31.02.2026,,,,,", "no day of the calendar"),
        ("B-1,Fictor hamatux x ficta,,,,,,,,,", "not among your species"),
    ],
)
def test_what_cannot_be_is_refused_with_its_reason(db, row, reason):
    outcome, said = only_row(row)
    assert outcome == "refused"
    assert reason in said


@pytest.mark.parametrize("price", ["-5", "12345678901"])
def test_a_price_that_is_none_is_refused(db, price):
    TaxonFactory(name="Fictor hamatus")
    outcome, said = lines(previewed(f"Code,Species,Price\nB-1,Fictor hamatus,{price}"))[2]
    assert outcome == "refused"
    assert "is no price" in said


def test_unknown_species_are_added_when_the_keeper_says_as_what(db):
    row = "B-1,Pamphobeteus sp. big pink,0.1,,,,,,,,"
    assert lines(previewed(animals(row)))[2][0] == "refused"
    ImportBatch.objects.all().delete()
    imported(animals(row, "B-2,Pamphobeteus  SP. big pink,,,,,,,,,"), new_group="tarantula")
    taxon = Taxon.objects.get()
    assert (taxon.name, taxon.group, taxon.rank) == ("Pamphobeteus sp. big pink", "tarantula", "form")
    assert taxon.specimens.count() == 2


def test_a_name_two_letters_off_is_never_added_as_a_new_species(db):
    TaxonFactory(name="Brachypelma hamorii")
    outcome, said = lines(previewed(animals("B-1,Brachipelma hamori,,,,,,,,,"), new_group="tarantula"))[2]
    assert outcome == "refused"
    assert "did you mean Brachypelma hamorii?" in said


@pytest.mark.parametrize(
    ("status", "model", "status_after"),
    [("dead", Death, "dead"), ("sold", Departure, "passed_on"), ("escaped", Departure, "missing")],
)
def test_a_status_word_ends_an_animals_stay(db, status, model, status_after):
    TaxonFactory(name="Fictor hamatus")
    imported(animals(f"B-1,Fictor hamatus,,,,,2024-03-01,,,{status},"))
    assert model.objects.count() == 1
    assert Standing.objects.get().status == status_after


def test_a_death_without_a_day_lies_between_the_last_thing_known_and_the_list(db):
    TaxonFactory(name="Fictor hamatus")
    imported(animals("B-1,Fictor hamatus,,,,,2024-03-01,2025-06-02,,dead,"), as_of=date(2026, 10, 1))
    assert str(Death.objects.get().when) == "2025-06-02/2026-10-01"


def test_two_rows_with_one_code_are_one_row_when_they_say_the_same(db):
    TaxonFactory(name="Fictor hamatus")
    batch = imported(animals("B-1,Fictor hamatus,0.1,,,,,,,,", "B-1,Fictor hamatus,0.1,,,,,,,,"))
    assert batch.counts["new"] == 1
    assert lines(ImportBatch.objects.get())[3] == ("same", "the same as row 2")


def test_every_tag_is_drawn_anew(db):
    TaxonFactory(name="Fictor hamatus")
    imported(animals(*[f"B-{i},Fictor hamatus,,,,,,,,," for i in range(30)]))
    assert Specimen.objects.values("tag").distinct().count() == 30


# Worked by hand in fixtures/import/README.md: last fed plus rhythm.
@pytest.mark.parametrize(
    ("code", "due_on"),
    [
        ("G-004", date(2026, 9, 5)),
        ("T-001", date(2026, 10, 12)),
        ("B-002", date(2026, 10, 31)),
        ("M-001", date(2026, 11, 11)),
        ("B-001", date(2026, 11, 22)),
        ("T-002", date(2026, 11, 26)),
    ],
)
def test_feeds_of_the_messy_workbook_fall_due_as_worked_by_hand(seeded, code, due_on):
    imported(messy(), "animals_messy.xlsx")
    assert Specimen.objects.get(code=code).dues.get(kind="feed").due_on == due_on


def test_a_molt_after_a_death_that_is_on_file_is_refused():
    animal = make.SpecimenFactory(code="B-1")
    make.died(animal, date(2026, 9, 1))
    batch = previewed(f"Code,Species,Last molt\nB-1,{animal.taxon},2026-10-01\n")
    assert batch.rows[0][2:] == ["refused", ["B-1 died on 2026-09-01; 2026-10-01 lies after it."]]


def test_what_ends_with_an_animal_ends_when_a_list_says_that_it_died():
    animal = make.SpecimenFactory(code="B-1")
    make.apart(animal, date(2026, 9, 1), date(2026, 12, 20))
    make.ill(animal, "mites", date(2026, 9, 2))
    batch = imported(f"Code,Species,Died\nB-1,{animal.taxon},2026-10-01\n")
    day = date(2026, 10, 1)
    assert list(animal.quarantines.values_list("ended_on", "ended")) == [(day, "gone")]
    assert list(animal.health_issues.values_list("closed_on", "outcome")) == [(day, "died")]
    batches.undo(batch, None)
    assert list(animal.quarantines.values_list("ended_on", "ended")) == [(None, "")]
    assert list(animal.health_issues.values_list("closed_on", "outcome")) == [(None, "")]


def test_a_code_that_another_animal_once_had_is_refused():
    animal = SpecimenFactory(code="B-1")
    animal.code = "B-2"
    animal.save()
    batch = previewed(f"Code,Species\nb-1,{animal.taxon}\n")
    assert lines(batch)[2] == ("refused", "b-1 was the code of B-2 before. A code is never used twice.")
