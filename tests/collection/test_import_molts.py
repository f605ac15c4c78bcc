"""Molts from a list: one molt told twice stays one molt, and what it cannot be is refused."""

from datetime import date
from pathlib import Path

import pytest

from collection import taxa
from collection.importing import batches
from collection.models import ImportBatch, Measurement, Molt, SexEvidence, Standing
from tests.factories import SpecimenFactory, TaxonFactory, died, fresh, left, molted

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
TODAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


@pytest.fixture
def specimen(db):
    return SpecimenFactory(code="B-1")


def imported(*rows: str) -> ImportBatch:
    data = "\n".join(["Code,Date,Instar,Leg span mm,Exuvia kept,Sex seen,Notes", *rows]).encode()
    batch = batches.receive(data, "molts.csv", "molts", None, TODAY)
    batches.preview(batch, TODAY)
    return batches.commit(batch, batch.plan_hash, None, TODAY)


def row(text: str) -> tuple[str, str]:
    batch = imported(text)
    _, _, outcome, said = ImportBatch.objects.get(pk=batch.pk).rows[0]
    return outcome, " · ".join(said)


def test_the_sample_molts_join_the_sample_animals(db):
    taxa.seed()
    for name, kind in (("animals_messy.xlsx", "animals"), ("molts.csv", "molts")):
        batch = batches.receive((SAMPLES / name).read_bytes(), name, kind, None, TODAY)
        batches.preview(batch, TODAY)
        batches.commit(batch, batch.plan_hash, None, TODAY)
    assert batch.counts == {"new": 7, "changed": 2, "same": 1, "refused": 2}
    days = [str(molt.when) for molt in Molt.objects.filter(specimen__code="B-001").order_by("earliest")]
    assert days == ["2024-06-11", "2025-05-02", "2026-04-18"]
    known = Molt.objects.get(specimen__code="B-001", earliest=date(2026, 4, 18))
    assert (known.leg_span_mm, known.exuvia_kept) == (140, True)


def test_a_molt_brings_its_size_its_instar_and_what_the_exuvia_told(specimen):
    imported("B-1,2026-05-04,L4,52,yes,F?,folds")
    molt, evidence = Molt.objects.get(), SexEvidence.objects.get()
    assert (molt.instar, molt.numbering, molt.leg_span_mm, molt.exuvia_kept) == (4, "L", 52, True)
    assert (evidence.method, evidence.finding, evidence.confident, evidence.molt) == ("exuvia", "female", False, molt)
    assert Standing.objects.get().last_molt == date(2026, 5, 4)


def test_a_mature_males_molt_is_his_last(specimen):
    imported("B-1,2026-05-04,,,,MM,")
    assert Molt.objects.get().matured
    assert Standing.objects.get().mature_since == date(2026, 5, 4)


def test_a_molt_on_file_is_completed_and_not_doubled(specimen):
    molted(specimen, date(2026, 5, 4))
    assert row("B-1,2026-05-04,,52,,,") == ("changed", "leg span, mm: nothing → 52")
    assert row("b-1,2026-05-04,,52,,,") == ("same", "")


def test_a_day_inside_a_range_on_file_dates_that_molt(specimen):
    molted(specimen, date(2026, 5, 1), date(2026, 5, 31))
    assert row("B-1,2026-05-04,,,,,") == ("changed", "molt: 2026-05 → 2026-05-04")
    assert row("B-1,2026-05,,,,,") == ("same", "")


def test_the_molt_of_that_very_day_goes_before_a_range_around_it(specimen):
    molted(specimen, date(2026, 5, 1), date(2026, 5, 31))
    Molt.objects.create(specimen=specimen, earliest=date(2026, 5, 4), latest=date(2026, 5, 4))
    assert row("B-1,2026-05-04,,52,,,") == ("changed", "leg span, mm: nothing → 52")


def test_two_rows_for_one_molt_are_one_or_refused(specimen):
    imported("B-1,2026-05-04,,52,,,", "B-1,2026-05-04,,52,,,", "B-1,2026-05-04,,60,,,", "B-1,2026-05,,52,,,")
    outcomes = [outcome for _, _, outcome, _ in ImportBatch.objects.get().rows]
    assert outcomes == ["new", "same", "refused", "refused"]
    assert Molt.objects.count() == 1


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("X-9,2026-05-04,,,,,", "No animal has the code X-9"),
        (",2026-05-04,,,,,", "No code"),
        ("B-1,,,,,,", "No day"),
        ("B-1,2027-05-04,,,,,", "lies in the future"),
        ("B-1,2026-13-04,,,,,", "no day of the calendar"),
        ("B-1,2026-05-04,,,perhaps,,", "neither yes nor no"),
    ],
)
def test_what_cannot_be_is_refused_with_its_reason(specimen, text, reason):
    outcome, said = row(text)
    assert outcome == "refused"
    assert reason in said


def test_nothing_molts_after_it_died_or_was_passed_on(db):
    died(SpecimenFactory(code="D-1"), date(2026, 3, 1))
    left(SpecimenFactory(code="G-1"), date(2026, 3, 1))
    imported("D-1,2026-04-01,,,,,", "G-1,2026-04-01,,,,,", "D-1,2026-02-01,,,,,")
    said = [(outcome, " ".join(lines)) for _, _, outcome, lines in ImportBatch.objects.get().rows]
    assert [outcome for outcome, _ in said] == ["refused", "refused", "new"]
    assert "died on 2026-03-01" in said[0][1]
    assert "passed on" in said[1][1]


def test_a_month_still_running_ends_today(specimen):
    imported("B-1,2026-11,,,,,")
    assert Molt.objects.get().latest == TODAY


def test_the_size_of_an_animal_measured_by_its_body_is_a_measurement(db):
    SpecimenFactory(code="S-1", taxon=TaxonFactory(group="scorpion", size_measure="body"))
    data = b"Code,Date,Size (mm)\nS-1,2026-05-04,40\n"
    batch = batches.receive(data, "molts.csv", "molts", None, TODAY)
    batches.preview(batch, TODAY)
    batches.commit(batch, batch.plan_hash, None, TODAY)
    assert Measurement.objects.get().body_mm == 40
    assert Molt.objects.get().leg_span_mm is None
    assert fresh(Measurement.objects.get().specimen).standing.size_mm == 40
