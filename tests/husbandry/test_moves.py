"""Who stands where: one solitary animal an enclosure, one enclosure an animal, and no two stays at once."""

from datetime import date, timedelta

import pytest

from collection.importing import batches
from collection.services import Refused
from husbandry import services
from husbandry.models import Stay
from tests import factories as make

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 10)


def where(animal):
    enclosure = services.enclosure_of(animal)
    return enclosure.code if enclosure else None


def test_a_move_closes_the_old_stay_on_the_day_the_new_one_begins():
    animal, new = make.SpecimenFactory(), make.EnclosureFactory(code="E-2")
    make.housed(animal, "E-1", DAY)
    services.move(animal, new, DAY + timedelta(days=9))
    assert where(animal) == "E-2"
    assert list(animal.stays.values_list("enclosure__code", "begins", "ends").order_by("begins")) == [
        ("E-1", DAY, DAY + timedelta(days=9)),
        ("E-2", DAY + timedelta(days=9), None),
    ]


def test_a_taken_enclosure_is_refused_and_says_who_lives_there():
    enclosure = make.housed(make.SpecimenFactory(code="B-1"), "E-1")
    with pytest.raises(Refused, match=r"E-1 is taken by B-1\. It can join only when") as refusal:
        services.move(make.SpecimenFactory(), enclosure, DAY)
    assert refusal.value.field == "enclosure"
    assert Stay.objects.count() == 1


def test_two_share_an_enclosure_when_put_together_on_purpose():
    enclosure, male = make.housed(make.SpecimenFactory()), make.SpecimenFactory()
    services.move(male, enclosure, DAY, companion=True)
    assert where(male) == enclosure.code


def test_a_group_asked_into_a_taken_enclosure_is_called_a_group():
    enclosure = make.housed(make.SpecimenFactory())
    with pytest.raises(Refused, match="The group can join only when"):
        services.move(make.SpecimenFactory(kind="group"), enclosure, DAY)


def test_a_move_to_where_it_is_already_is_refused():
    animal = make.SpecimenFactory()
    enclosure = make.housed(animal, "E-1")
    with pytest.raises(Refused, match="in E-1 already"):
        services.move(animal, enclosure, DAY)


def test_a_move_before_the_present_stay_began_is_refused():
    animal = make.SpecimenFactory()
    make.housed(animal, day=DAY)
    with pytest.raises(Refused, match="since 2026-05-10") as refusal:
        services.move(animal, make.EnclosureFactory(), DAY - timedelta(days=1))
    assert refusal.value.field == "on"
    assert animal.stays.get().ends is None


def test_a_move_into_a_retired_enclosure_is_refused():
    retired = make.EnclosureFactory(code="E-1", retired_on=DAY)
    with pytest.raises(Refused, match="E-1 was retired on 2026-05-10"):
        services.move(make.SpecimenFactory(), retired, DAY)


@pytest.mark.parametrize("end", [make.died, make.left])
def test_an_end_frees_the_enclosure_for_the_next(end):
    animal, heir = make.SpecimenFactory(), make.SpecimenFactory()
    enclosure = make.housed(animal)
    end(animal, DAY)
    assert animal.stays.get().ends == DAY
    services.move(heir, enclosure, DAY)
    assert where(heir) == enclosure.code


@pytest.mark.parametrize("end", [make.died, make.left])
def test_who_is_gone_for_good_moves_nowhere(end):
    animal = make.SpecimenFactory()
    end(animal, DAY)
    with pytest.raises(Refused, match="stands nowhere any more"):
        make.housed(make.fresh(animal), day=DAY - timedelta(days=5))


@pytest.mark.parametrize("kind", ["loan_out", "missing"])
def test_who_may_come_back_keeps_the_enclosure(kind):
    animal = make.SpecimenFactory()
    enclosure = make.housed(animal)
    make.left(animal, DAY, kind=kind)
    assert where(animal) == enclosure.code


def test_a_death_before_the_last_move_leaves_no_stay_that_runs_backwards():
    animal = make.SpecimenFactory()
    make.housed(animal, day=DAY)
    make.died(animal, DAY - timedelta(days=30), DAY - timedelta(days=2))
    assert animal.stays.get().ends == DAY


def test_no_two_stays_of_one_animal_overlap():
    animal = make.SpecimenFactory()
    make.housed(animal, day=DAY)
    services.free_enclosure(animal, DAY + timedelta(days=20))
    with pytest.raises(Refused, match="until 2026-05-30") as refusal:
        services.move(animal, make.EnclosureFactory(), DAY + timedelta(days=5))
    assert refusal.value.field == "on"


@pytest.mark.parametrize(("status", "frees"), [("dead", True), ("sold", True), ("missing", False)])
def test_an_end_that_a_list_tells_of_frees_the_enclosure_as_well(status, frees):
    animal = make.SpecimenFactory(code="B-1")
    make.housed(animal)
    data = f"Code,Species,Status\nB-1,{animal.taxon.name},{status}\n".encode()
    batch = batches.receive(data, "list.csv", "animals", None, make.TODAY)
    batches.preview(batch, make.TODAY)
    batches.commit(batch, batch.plan_hash, None, make.TODAY)
    assert make.fresh(animal).standing.status != "here"
    assert (animal.stays.get().ends == make.TODAY) is frees
