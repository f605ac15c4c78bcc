"""Where animals stand and what they ate, from a keeper's lists."""

from datetime import date, timedelta

import pytest

from collection.importing import batches
from collection.models import Due, ImportBatch, Specimen
from husbandry.models import Enclosure, Feeding, FeedRhythm, Place, Stay
from tests.factories import SpecimenFactory, TaxonFactory, died, fed, housed, place

TODAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


def imported(headings: str, *rows: str, kind: str = "animals") -> list[tuple[str, str]]:
    data = "\n".join([headings, *rows]).encode()
    batch = batches.receive(data, "list.csv", kind, None, TODAY)
    batches.preview(batch, TODAY)
    batches.commit(batch, batch.plan_hash, None, TODAY)
    return [(outcome, " · ".join(said)) for _, _, outcome, said in ImportBatch.objects.get(pk=batch.pk).rows]


@pytest.fixture(autouse=True)
def _taxon(db):
    TaxonFactory(name="Fictor hamatus")


def test_a_box_in_a_rack_becomes_an_enclosure_with_a_stay(db):
    imported("Code,Species,Rack,Box", "B-1,Fictor hamatus,Rack A,A1")
    stay = Stay.objects.get()
    assert (stay.specimen.code, stay.enclosure.code, stay.enclosure.place.name, stay.begins) == (
        "B-1",
        "A1",
        "Rack A",
        TODAY,
    )


def test_new_places_take_their_turn_in_the_walk_and_leave_it_again(db):
    place("Rack B")
    imported("Code,Species,Rack", "B-1,Fictor hamatus,Rack C", "B-2,Fictor hamatus,Rack A")
    walk = Place.objects.in_walking_order().values_list("name", "walk_key")
    assert list(walk) == [("Rack A", "0001"), ("Rack B", "0002"), ("Rack C", "0003")]
    batches.undo(ImportBatch.objects.get(), None)
    assert list(walk.all()) == [("Rack B", "0001")]


def test_a_rack_without_a_box_gets_one_with_the_animals_code(db):
    imported("Code,Species,Rack", "B-1,Fictor hamatus,Rack A", "B-2,Fictor hamatus,rack a")
    assert sorted(Enclosure.objects.values_list("code", "place__name")) == [("B-1", "Rack A"), ("B-2", "Rack A")]


def test_a_second_animal_in_one_box_is_refused_and_says_who_is_there(db):
    housed(SpecimenFactory(code="Z-1"), "A9")
    said = imported("Code,Species,Box", "B-1,Fictor hamatus,A1", "B-2,Fictor hamatus,a1", "B-3,Fictor hamatus,A9")
    assert [outcome for outcome, _ in said] == ["new", "refused", "refused"]
    assert "taken by B-1 (row 2)" in said[1][1]
    assert "taken by Z-1" in said[2][1]


def test_an_animal_on_file_is_moved_and_its_old_stay_closed(db):
    housed(SpecimenFactory(code="B-1", taxon__name="Fictor novus"), "A1")
    said = imported("Code,Species,Box", "B-1,Fictor novus,A2")
    assert said[0][0] == "changed"
    assert [(s.enclosure.code, s.ends) for s in Stay.objects.order_by("pk")] == [("A1", TODAY), ("A2", None)]


def test_the_last_meal_and_the_own_rhythm_make_the_feed_due(db):
    imported("Code,Species,Last fed,Feed every", "B-1,Fictor hamatus,2026-11-01,9")
    assert FeedRhythm.objects.get().days == 9
    assert Due.objects.get(kind="feed").due_on == date(2026, 11, 1) + timedelta(days=9)


@pytest.mark.parametrize(
    ("cell", "outcome", "words"),
    [
        ("2026-10", "new", "no meal entered: “2026-10” is not a day"),
        ("2027-01-01", "refused", "Last fed: 2027-01-01 lies in the future"),
        ("never", "new", "Fictor hamatus"),
        ("2026-10-99", "refused", "no day of the calendar"),
    ],
)
def test_a_last_meal_needs_a_day_that_has_been(db, cell, outcome, words):
    said = imported("Code,Species,Last fed", f"B-1,Fictor hamatus,{cell}")[0]
    assert said[0] == outcome
    assert words in said[1]
    assert not Feeding.objects.exists()


def test_the_dead_get_neither_box_nor_rhythm_nor_meals_after_their_death(db):
    rows = ["B-1,Fictor hamatus,A1,10,2025-02-20,2025-01-12", "B-2,Fictor hamatus,A2,10,2025-02-20,2025-03-01"]
    said = imported("Code,Species,Box,Feed every,Died,Last fed", *rows)
    assert [outcome for outcome, _ in said] == ["new", "refused"]
    assert "lies after its end" in said[1][1]
    assert not Stay.objects.exists()
    assert not FeedRhythm.objects.exists()
    assert not Due.objects.exists()


def test_a_rhythm_beyond_reason_is_refused(db):
    assert imported("Code,Species,Feed every", "B-1,Fictor hamatus,900")[0] == (
        "refused", "Feed every 900 days: a rhythm is 1 to 400 days.",
    )  # fmt: skip


FEEDINGS = "Animal,When,What,Prey size,How many,Taken?,Notes"


def test_a_list_of_feedings_comes_in_with_prey_number_and_outcome(db):
    SpecimenFactory(code="B-1")
    imported(
        FEEDINGS, "B-1,2026-11-20,cricket,8 mm,3,yes,", "B-1,2026-11-21,roach,large,1,refused,slow", kind="feedings"
    )
    found = list(Feeding.objects.order_by("on").values_list("prey", "prey_mm", "number", "outcome", "note"))
    assert found == [("cricket", 8.0, 3, "taken", ""), ("roach", None, 1, "refused", "large, slow")]


def test_a_list_of_feedings_brought_twice_changes_nothing(db):
    SpecimenFactory(code="B-1")
    rows = ["B-1,2026-11-20,cricket,,1,yes,", "B-1,2026-11-20,cricket,,1,yes,"]
    assert [outcome for outcome, _ in imported(FEEDINGS, *rows, kind="feedings")] == ["new", "new"]
    assert [outcome for outcome, _ in imported(FEEDINGS, *rows, "B-1,2026-11-21,fly,,,,", kind="feedings")] == [
        "same",
        "same",
        "new",
    ]


def test_the_last_meal_of_a_list_of_animals_is_completed_and_not_doubled(db):
    fed(SpecimenFactory(code="B-1"), date(2026, 11, 20))
    said = imported(FEEDINGS, "B-1,2026-11-20,cricket,,2,yes,", kind="feedings")
    assert said == [("changed", "prey: nothing → cricket · number: 1 → 2")]
    assert Feeding.objects.get().prey == "cricket"


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("X-9,2026-11-20,,,,,", "No animal has the code X-9"),
        ("B-1,,,,,,", "No day"),
        ("B-1,2026-10,,,,,", "is not a day"),
        ("B-1,2026-12-24,,,,,", "lies in the future"),
        ("B-1,2026-11-20,,,,perhaps,", "is no outcome"),
        ("B-1,2026-11-20,,,1.5,,", "is not a whole number"),
        ("D-1,2026-11-20,,,,,", "D-1 died on 2026-03-01"),
    ],
)
def test_a_meal_that_cannot_be_is_refused_with_its_reason(db, row, reason):
    SpecimenFactory(code="B-1")
    died(SpecimenFactory(code="D-1"), date(2026, 3, 1))
    (outcome, said), *_ = imported(FEEDINGS, row, kind="feedings")
    assert outcome == "refused"
    assert reason in said
    assert Specimen.objects.count() == 2
