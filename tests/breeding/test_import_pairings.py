"""Pairings from a keeper's list: the rules of a pairing hold for a spreadsheet too."""

from datetime import date
from pathlib import Path

import pytest

from breeding.importing import read_ending, read_insertions
from breeding.models import Meeting, Pairing
from breeding.services import record_pairing
from collection import taxa
from collection.importing import batches
from collection.models import ImportBatch, Taxon
from collection.spreadsheets.cells import Misread
from tests.factories import SpecimenFactory, TaxonFactory, died, fresh, looked

SAMPLES = Path(__file__).parents[2] / "fixtures" / "import"
TODAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


@pytest.fixture
def pair(db):
    taxon = TaxonFactory()
    female, male = SpecimenFactory(code="F-1", taxon=taxon), SpecimenFactory(code="M-1", taxon=taxon)
    looked(female, "female")
    looked(male, "male")
    return fresh(female), fresh(male)


def imported(*rows: str) -> list[tuple[str, str]]:
    data = "\n".join(["Female,Male,Date,Insertions,Outcome,Notes", *rows]).encode()
    batch = batches.receive(data, "pairings.csv", "pairings", None, TODAY)
    batches.preview(batch, TODAY)
    batches.commit(batch, batch.plan_hash, None, TODAY)
    return [(outcome, " · ".join(said)) for _, _, outcome, said in ImportBatch.objects.get(pk=batch.pk).rows]


def test_the_sample_pairings_join_the_sample_animals(db):
    taxa.seed()
    for name, kind in (("animals_messy.xlsx", "animals"), ("pairings.xlsx", "pairings")):
        batch = batches.receive((SAMPLES / name).read_bytes(), name, kind, None, TODAY)
        batches.preview(batch, TODAY)
        batches.commit(batch, batch.plan_hash, None, TODAY)
    assert batch.counts == {"new": 4, "changed": 0, "same": 0, "refused": 3}
    pairing = Pairing.objects.get(female__code="B-002")
    assert [(m.earliest, m.insertions, m.ending) for m in pairing.meetings.all()] == [
        (date(2026, 10, 12), 2, "peace"),
        (date(2026, 10, 19), 1, "peace"),
    ]
    assert str(Meeting.objects.get(pairing__female__code="P-001").when) == "2026-09"


def test_meetings_of_one_season_are_one_pairing_and_another_year_is_another(pair):
    imported("F-1,M-1,2025-10-01,1,,", "F-1,M-1,2025-10-20,2,,", "F-1,M-1,2026-10-01,1,,")
    assert [pairing.meetings.count() for pairing in Pairing.objects.order_by("pk")] == [2, 1]


def test_a_meeting_joins_a_planned_pairing_on_file(pair):
    record_pairing(Pairing(female=pair[0], male=pair[1], planned_for=date(2026, 10, 1)))
    imported("F-1,M-1,2026-10-01,1,,")
    assert Pairing.objects.get().meetings.count() == 1


def test_the_same_list_again_changes_nothing_and_a_fuller_one_completes(pair):
    assert imported("F-1,M-1,2026-10-01,,,")[0][0] == "new"
    assert imported("F-1,M-1,2026-10-01,,,") == [("same", "")]
    assert imported("F-1,M-1,2026-10-01,2,peace,")[0][0] == "changed"
    assert (Meeting.objects.get().insertions, Meeting.objects.get().ending) == (2, "peace")


def test_two_rows_for_one_meeting_are_one(pair):
    assert [outcome for outcome, _ in imported("F-1,M-1,2026-10-01,1,,", "f-1,m-1,2026-10-01,1,,")] == ["new", "same"]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("M-1,F-1,2026-10-01,,,", "evidence says that M-1 is a male"),
        ("F-1,F-1,2026-10-01,,,", "stands in both columns"),
        ("F-1,X-9,2026-10-01,,,", "No animal has the code X-9"),
        ("F-1,,2026-10-01,,,", "No code"),
        ("F-1,M-1,,,,", "No day"),
        ("F-1,M-1,2027-01-01,,,", "lies in the future"),
        ("F-1,M-1,2026-10-01,many,,", "is no number of insertions"),
        ("F-1,M-1,2026-10-01,,odd,", "is no ending"),
        ("F-1,O-1,2026-10-01,,,", "Say why two taxa are paired"),
        ("F-1,D-1,2026-10-01,,,", "D-1 died on 2026-03-01"),
    ],
)
def test_a_pairing_that_cannot_be_is_refused_with_its_reason(pair, row, reason):
    SpecimenFactory(code="O-1")
    died(SpecimenFactory(code="D-1", taxon=Taxon.objects.get(pk=pair[0].taxon_id)), date(2026, 3, 1))
    (outcome, said), *_ = imported(row)
    assert outcome == "refused"
    assert reason in said
    assert not Pairing.objects.exists()


@pytest.mark.parametrize(
    ("text", "seen"), [("2", 2), ("0", 0), ("no", 0), ("not seen", None), ("?", None), ("yes", None)]
)
def test_insertions_nobody_saw_are_not_none_at_all(text, seen):
    assert read_insertions(text) == seen


def test_words_for_endings_in_both_languages():
    assert [read_ending(word) for word in ("peaceful", "Bock gefressen", "left together")] == [
        "peace",
        "male_lost",
        "left",
    ]
    with pytest.raises(Misread):
        read_ending("sideways")
