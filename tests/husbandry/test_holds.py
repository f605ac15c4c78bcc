"""Holds: why the feeding clock stands still, who says so, and when it runs again."""

from datetime import date

import pytest

from breeding import services as breeding
from collection import attention, dues
from collection.services import Refused
from husbandry import holds, services
from husbandry.rhythm import Hold, HoldKind
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY = make.TODAY
FED = date(2026, 11, 1)


@pytest.fixture
def animal():
    """Fed a month ago every seven days: well overdue."""
    specimen = make.SpecimenFactory()
    make.fed(specimen, FED)
    return specimen


def due(animal):
    return animal.dues.get(kind="feed")


def says(animal, today=TODAY):
    said = attention.due_kinds["feed"].say(dues.as_stored(due(animal)), today)
    return said.urgency.value, said.sentence


def test_a_held_animal_is_not_overdue_and_says_why(animal):
    make.held(animal, date(2026, 11, 5))
    assert (due(animal).wanted_on, due(animal).due_on) == (date(2026, 11, 8), None)
    assert says(animal) == ("held", "Ill since 5 November, until lifted.")


def test_a_held_animal_offers_water_and_a_molt_instead_of_food(animal):
    make.held(animal, date(2026, 11, 5))
    said = attention.due_kinds["feed"].say(dues.as_stored(due(animal)), TODAY)
    assert [action.label for action in said.actions] == ["Water done", "Molted"]


def test_a_hold_that_is_over_has_moved_the_feed_to_its_end(animal):
    make.held(animal, date(2026, 11, 5), date(2026, 12, 2))
    assert due(animal).due_on == date(2026, 12, 2)
    assert says(animal) == ("over", "Last took food 33 days ago; rhythm 7.")


def test_a_hold_that_ended_before_the_feed_fell_due_moves_nothing(animal):
    make.held(animal, date(2026, 11, 2), date(2026, 11, 6))
    assert due(animal).due_on == date(2026, 11, 8)


def test_holds_that_touch_add_up(animal):
    make.held(animal, date(2026, 11, 5), date(2026, 11, 20))
    make.held(animal, date(2026, 11, 20), date(2026, 12, 10), kind="cooling")
    assert due(animal).due_on == date(2026, 12, 10)
    assert says(animal) == ("held", "Cooling since 20 November, until 10 December.")


def test_a_hold_of_another_kind_is_said_in_the_keepers_words(animal):
    make.held(animal, date(2026, 11, 5), kind="other", reason="Away for the fair")
    assert says(animal) == ("held", "Away for the fair, until lifted.")


def test_a_lifted_hold_ends_that_day(animal):
    hold = make.held(animal, date(2026, 11, 5))
    services.lift_hold(hold, TODAY)
    assert due(animal).due_on == TODAY
    assert says(animal)[0] == "due"


def test_a_hold_is_not_lifted_on_the_day_it_began(animal):
    hold = make.held(animal, TODAY)
    with pytest.raises(Refused, match="at least a day"):
        services.lift_hold(hold, TODAY)


def test_lifting_a_hold_that_has_ended_does_not_make_it_longer(animal):
    hold = make.held(animal, date(2026, 11, 2), date(2026, 11, 6))
    with pytest.raises(Refused, match="ended on 2026-11-06"):
        services.lift_hold(hold, TODAY)
    hold.refresh_from_db()
    assert hold.ends == date(2026, 11, 6)


def test_a_hold_that_would_end_later_is_lifted_early(animal):
    hold = make.held(animal, date(2026, 11, 5), date(2027, 2, 1))
    services.lift_hold(hold, TODAY)
    assert due(animal).due_on == TODAY


@pytest.mark.parametrize("kind", ["carried", "fixed", "guarded"])
def test_a_female_that_guards_a_sac_is_not_fed_until_it_is_taken(kind):
    dam = make.female()
    make.fed(dam, FED)
    sac = make.laid(dam, date(2026, 11, 10), kind=kind)
    assert says(dam) == ("held", "Guarding a sac since 10 November, until lifted.")
    sac.taken_on = date(2026, 12, 1)
    breeding.record_sac(sac)
    assert due(dam).due_on == date(2026, 12, 1)


@pytest.mark.parametrize("kind", ["ootheca", "soil", "live", "single"])
def test_a_female_that_leaves_her_eggs_is_fed_as_before(kind):
    dam = make.female()
    make.fed(dam, FED)
    make.laid(dam, date(2026, 11, 10), kind=kind)
    assert due(dam).due_on == date(2026, 11, 8)


def test_a_sac_that_has_ended_is_no_longer_guarded():
    dam = make.female()
    make.fed(dam, FED)
    make.laid(dam, date(2026, 11, 10), outcome="eaten", ended_on=date(2026, 11, 20))
    assert due(dam).due_on == date(2026, 11, 20)


@pytest.mark.parametrize("group", ["isopod", "millipede"])
def test_who_grazes_is_not_held_after_a_molt(group):
    animal = make.SpecimenFactory(taxon__group=group)
    make.molted(animal, TODAY)
    assert [hold.kind for hold in holds.gather([animal.pk])[animal.pk]] == [HoldKind.ARRIVAL]


def test_every_app_may_hold_and_all_are_asked(animal, monkeypatch):
    held = Hold(HoldKind.OTHER, date(2026, 11, 5), None, "Waiting for a vet")
    monkeypatch.setitem(holds.sources, "test", lambda ids: {animal.pk: [held]})
    dues.refresh([animal.pk])
    assert says(animal) == ("held", "Waiting for a vet, until lifted.")
