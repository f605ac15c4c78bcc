"""Water is asked for only where the keeper keeps track of it."""

from datetime import date, timedelta

import pytest

from collection import attention, dues
from husbandry import services
from husbandry.models import Upkeep
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY, CAME = make.TODAY, date(2024, 11, 1)


def watered(enclosure, day, kind="water"):
    return services.record_upkeep(Upkeep(enclosure=enclosure, kind=kind, on=day))


def due(animal):
    return animal.dues.filter(kind="water").first()


def says(animal):
    said = attention.due_kinds["water"].say(dues.as_stored(due(animal)), TODAY)
    return said.urgency.value, said.plate, said.sentence


@pytest.fixture
def animal():
    return make.SpecimenFactory()


def test_nobody_asks_for_water_that_was_never_tracked(animal):
    make.housed(animal)
    assert due(animal) is None


def test_an_animal_that_stands_nowhere_has_no_water_to_see_to(animal):
    assert due(animal) is None
    assert services.enclosure_of(animal) is None


def test_a_rhythm_of_the_enclosures_own_asks_from_the_day_it_moved_in(animal):
    make.housed(animal, water_days=5)
    assert due(animal).due_on == CAME
    assert says(animal)[2] == "No water on record; rhythm 5."


def test_a_dish_filled_once_is_asked_for_by_the_usual_rhythm(animal):
    watered(make.housed(animal), date(2026, 11, 25))
    assert due(animal).due_on == date(2026, 12, 2)
    assert says(animal) == ("over", "2 days over", "Water last on 25 November; rhythm 7.")


@pytest.mark.parametrize(
    ("lifestyle", "days"), [("fossorial", 10), ("arboreal", 4), ("dwarf", 5), ("soil", 10), ("", 7)]
)
def test_the_usual_rhythm_follows_how_the_animal_lives(lifestyle, days):
    animal = make.SpecimenFactory(taxon__lifestyle=lifestyle)
    watered(make.housed(animal), TODAY)
    assert due(animal).due_on == TODAY + timedelta(days=days)


def test_a_mature_male_drinks_more_often():
    animal = make.male(date(2026, 1, 1))
    watered(make.housed(animal), TODAY)
    assert due(animal).due_on == TODAY + timedelta(days=5)


@pytest.mark.parametrize("kind", ["misting", "cleaning", "substrate", "check"])
def test_other_upkeep_fills_no_dish(animal, kind):
    watered(make.housed(animal), TODAY, kind)
    assert due(animal) is None


def test_one_dish_serves_all_who_live_there(animal):
    enclosure, companion = make.housed(animal, water_days=5), make.SpecimenFactory()
    services.move(companion, enclosure, CAME, companion=True)
    watered(enclosure, TODAY)
    assert due(animal).due_on == due(companion).due_on == TODAY + timedelta(days=5)


def test_the_water_question_stays_behind_on_a_move(animal):
    make.housed(animal, water_days=5)
    services.move(animal, make.EnclosureFactory(), TODAY)
    assert due(animal) is None


def test_a_new_rhythm_of_the_enclosure_counts_at_once(animal):
    enclosure = make.housed(animal, water_days=5)
    watered(enclosure, TODAY)
    enclosure.water_days = 2
    services.save_enclosure(enclosure)
    assert due(animal).due_on == TODAY + timedelta(days=2)


@pytest.mark.parametrize("end", [make.died, make.left])
def test_no_water_for_who_is_gone(animal, end):
    make.housed(animal, water_days=5)
    end(animal, TODAY)
    assert due(animal) is None
