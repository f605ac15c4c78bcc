"""An animal's particulars: codes are never used twice, and nobody descends from itself or from what is younger."""

from datetime import date

import pytest

from collection import services, tags
from collection.models import Specimen
from collection.services import Refused, save_specimen
from tests import factories as make

pytestmark = pytest.mark.django_db


def born(earliest, latest=None, **values):
    values = {"hatched_earliest": earliest, "hatched_latest": latest or earliest} | values
    return make.SpecimenFactory(acquired_earliest=None, acquired_latest=None, **values)


def refused(specimen, field, match):
    with pytest.raises(Refused, match=match) as refusal:
        save_specimen(specimen, "")
    assert refusal.value.field == field


def unsaved(code="N-1", **values):
    return Specimen(code=code, taxon=make.TaxonFactory(), **values)


def test_a_new_animal_has_a_standing_at_once():
    new = unsaved()
    save_specimen(new, "")
    assert make.fresh(new).standing.status == "here"


def test_a_new_animal_draws_a_valid_tag_of_its_own():
    drawn = {make.SpecimenFactory().tag for _ in range(20)} | {make.EnclosureFactory().tag for _ in range(20)}
    assert len(drawn) == 40
    assert all(tags.read(tag) == tag for tag in drawn)


def test_a_code_is_not_used_twice_whatever_its_case():
    make.SpecimenFactory(code="B-7")
    refused(unsaved("b-7"), "code", "b-7 is the code of another animal")


def test_a_code_that_was_given_up_is_not_used_again():
    animal = make.SpecimenFactory(code="B-7")
    animal.code = "B-8"
    save_specimen(animal, "")
    refused(unsaved("B-7"), "code", "B-7 was the code of B-8 before")


def test_an_animal_may_take_its_own_old_code_again():
    animal = make.SpecimenFactory(code="B-7")
    for code in ("B-8", "B-7"):
        animal.code = code
        save_specimen(animal, "")
    assert animal.history.count() == 3


def test_the_code_of_an_entry_that_was_taken_back_is_free():
    make.SpecimenFactory(code="B-7").delete()
    save_specimen(unsaved("B-7"), "")


def test_a_dam_known_to_be_a_male_is_refused():
    refused(unsaved(dam=make.male(code="M-1")), "dam", "The evidence says that M-1 is a male")


def test_a_sire_known_to_be_a_female_is_refused():
    refused(unsaved(sire=make.female(code="F-1")), "sire", "The evidence says that F-1 is a female")


def test_unsexed_parents_are_taken():
    dam, sire = make.SpecimenFactory(), make.SpecimenFactory()
    save_specimen(unsaved(dam=dam, sire=sire), "")
    assert dam.young_of_dam.get().sire == sire


def test_one_animal_is_not_both_parents():
    parent = make.SpecimenFactory()
    refused(unsaved(dam=parent, sire=parent), "sire", "one and the same")


@pytest.mark.parametrize("field", ["dam", "sire"])
def test_a_parent_younger_than_its_young_is_refused(field):
    parent = born(date(2025, 3, 2), code="P-1")
    young = unsaved(**{field: parent}, hatched_earliest=date(2025, 3, 1), hatched_latest=date(2025, 3, 1))
    refused(young, field, "P-1 hatched 2025-03-02: not before its young")


def test_a_parent_of_the_same_vague_year_may_be_older():
    year = {"hatched_earliest": date(2025, 1, 1), "hatched_latest": date(2025, 12, 31)}
    save_specimen(unsaved(dam=make.SpecimenFactory(**year), **year), "")


def test_a_parent_whose_day_is_not_known_is_taken():
    save_specimen(unsaved(dam=make.SpecimenFactory(), hatched_earliest=date(2025, 1, 1)), "")


def test_a_dam_cannot_become_younger_than_her_young():
    dam = born(date(2024, 1, 1))
    born(date(2025, 1, 1), code="Y-1", dam=dam)
    dam.hatched_earliest = dam.hatched_latest = date(2025, 6, 1)
    refused(dam, "hatched", "Its young Y-1 hatched 2025-01-01")


def test_nobody_is_its_own_parent():
    animal = make.SpecimenFactory()
    animal.dam = animal
    refused(animal, "dam", "nobody is its own ancestor")


@pytest.mark.parametrize("field", ["dam", "sire"])
def test_a_circle_of_descent_is_refused_however_long(field):
    first = make.SpecimenFactory(code="G-0")
    last = first
    for n in range(1, 5):
        last = make.SpecimenFactory(code=f"G-{n}", **{"sire" if n % 2 else "dam": last})
    setattr(first, field, last)
    refused(first, field, "G-4 descends from G-0")


def test_a_refused_animal_leaves_nothing_behind():
    with pytest.raises(Refused):
        services.save_specimen(unsaved(dam=make.male()), "")
    assert not Specimen.objects.filter(code="N-1").exists()
