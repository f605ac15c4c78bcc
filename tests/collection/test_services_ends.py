"""An animal's end: what it ends, what it refuses afterwards, and how it is corrected."""

from datetime import date

import pytest

from breeding import services as breeding
from breeding.models import Sign, SpermWeb
from collection import services
from collection.models import Death, Departure, GroupCount, Molt
from collection.services import Refused
from husbandry import services as husbandry
from husbandry.models import FeedRhythm, Hold
from tests import factories as make

pytestmark = pytest.mark.django_db
END, AFTER, BEFORE = date(2026, 6, 1), date(2026, 6, 2), date(2026, 5, 1)


def molt(animal, day):
    make.molted(animal, day)


def meal(animal, day):
    make.fed(animal, day)


def move(animal, day):
    make.housed(animal, day=day)


def rhythm(animal, day):
    husbandry.set_rhythm(FeedRhythm(specimen=animal, since=day, days=9))


def hold(animal, day):
    husbandry.set_hold(Hold(specimen=animal, kind="illness", begins=day))


def sign(animal, day):
    breeding.record_sign(Sign(female=animal, kind="webbing", earliest=day, latest=day))


def sperm_web(animal, day):
    breeding.record_sperm_web(SpermWeb(male=animal, earliest=day, latest=day))


def pairing(animal, day):
    make.paired(animal, day)


def pairing_as_male(animal, day):
    make.paired(make.SpecimenFactory(taxon=animal.taxon), day, sire=animal)


def sac(animal, day):
    make.laid(animal, day)


LIVING = [molt, meal, move, rhythm, hold, sign, sperm_web, pairing, pairing_as_male, sac]


def passed_on(animal):
    make.left(animal, END)


def died(animal):
    make.died(animal, END)


@pytest.mark.parametrize("end", [died, passed_on])
@pytest.mark.parametrize("happens", LIVING)
def test_nothing_happens_to_an_animal_after_its_end(happens, end):
    animal = make.SpecimenFactory()
    end(animal)
    with pytest.raises(Refused, match=r"this day lies after it\.") as refusal:
        happens(make.fresh(animal), AFTER)
    assert refusal.value.field == "on"


@pytest.mark.parametrize("happens", [act for act in LIVING if act is not move])
def test_what_happened_before_the_end_is_still_entered(happens):
    animal = make.SpecimenFactory()
    make.died(animal, END)
    happens(make.fresh(animal), BEFORE)


def test_a_culture_is_not_counted_after_its_end():
    culture = make.SpecimenFactory(kind="culture")
    make.died(culture, END)
    with pytest.raises(Refused, match="died on 2026-06-01"):
        services.record_count(GroupCount(specimen=culture, count=3, earliest=AFTER, latest=AFTER))


def test_an_animal_dies_once():
    animal = make.SpecimenFactory()
    make.died(animal, END)
    with pytest.raises(Refused, match="on record already"):
        make.died(animal, END)


def test_an_animal_is_passed_on_once():
    animal = make.SpecimenFactory()
    make.left(animal, END)
    with pytest.raises(Refused, match="is not here: passed on"):
        make.left(animal, AFTER)


def test_an_animal_that_was_passed_on_does_not_die_here():
    animal = make.SpecimenFactory()
    make.left(animal, END)
    with pytest.raises(Refused, match="was passed on on 2026-06-01"):
        make.died(animal, AFTER)


def test_a_dead_animal_does_not_leave():
    animal = make.SpecimenFactory()
    make.died(animal, END)
    with pytest.raises(Refused, match="is not here: dead"):
        make.left(animal, BEFORE)


@pytest.mark.parametrize("record", [died, passed_on])
def test_the_day_of_an_end_can_be_corrected_to_a_later_one(record):
    animal = make.SpecimenFactory()
    record(animal)
    death, departure = Death.objects.first(), Departure.objects.first()
    if death:
        death.earliest = death.latest = AFTER
        services.record_death(death)
    else:
        departure.on = AFTER
        services.record_departure(departure)
    make.molted(animal, AFTER)
    assert animal.molts.count() == 1


def test_an_animal_lent_out_comes_back_and_is_here_again():
    animal = make.SpecimenFactory()
    loan = make.left(animal, END, kind="loan_out")
    assert make.fresh(animal).standing.status == "loan_out"
    services.record_return(loan, AFTER)
    assert make.fresh(animal).standing.status == "here"
    assert make.left(animal, AFTER, kind="missing").back_on is None


def test_an_animal_is_not_back_before_it_left():
    loan = make.left(make.SpecimenFactory(), END, kind="loan_out")
    with pytest.raises(Refused, match="cannot be back before"):
        services.record_return(loan, BEFORE)


def test_an_animal_passed_on_does_not_come_back():
    gone = make.left(make.SpecimenFactory(), END)
    with pytest.raises(Refused, match="enter it as a new arrival"):
        services.record_return(gone, AFTER)


def test_an_animal_that_died_while_lent_out_does_not_come_back():
    animal = make.SpecimenFactory()
    loan = make.left(animal, BEFORE, kind="loan_out")
    make.died(animal, END)
    assert make.fresh(animal).standing.status == "dead"
    with pytest.raises(Refused, match="died on"):
        services.record_return(loan, AFTER)


def test_an_animal_does_not_leave_while_it_is_away():
    animal = make.SpecimenFactory()
    services.record_return(make.left(animal, BEFORE, kind="loan_out"), AFTER)
    with pytest.raises(Refused, match="was away from 2026-05-01 to 2026-06-02") as refusal:
        make.left(animal, END)
    assert refusal.value.field == "on"
    assert make.left(animal, AFTER).pk


def test_a_single_animal_is_not_counted():
    with pytest.raises(Refused, match="only groups and cultures"):
        services.record_count(GroupCount(specimen=make.SpecimenFactory(), count=3, earliest=END, latest=END))


def test_a_death_known_to_a_range_ends_only_with_it():
    animal = make.SpecimenFactory()
    make.died(animal, BEFORE, END)
    services.record_molt(Molt(specimen=animal, earliest=END, latest=END))
    with pytest.raises(Refused, match="2026-05-01/2026-06-01"):
        make.molted(animal, AFTER)
