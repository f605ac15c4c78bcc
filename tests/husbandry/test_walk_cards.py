"""What a card says, and who gets one: in walking order, whoever lives together, whatever is on hold."""

from datetime import date, timedelta

import pytest
import time_machine

from collection.models import GroupCount
from collection.services import record_count
from collection.stages import Stage
from husbandry import cards, prey, services
from husbandry.cards import Feeder
from husbandry.models import Enclosure, Upkeep
from tests import factories as make

TODAY = make.TODAY


@pytest.fixture(autouse=True)
def _still():
    with time_machine.travel(make.NOW, tick=False):
        yield


def codes(place=None, only_due=False) -> list[str]:
    return list(cards.enclosures(place, only_due, TODAY).values_list("code", flat=True))


def stops(*enclosures) -> list:
    return cards.payload([enclosure.pk for enclosure in enclosures], TODAY)["stops"]


def only_animal(enclosure) -> list:
    [stop] = stops(enclosure)
    [animal] = stop[4]
    return animal


def in_rack() -> tuple:
    rack = make.place("Rack B")
    upper, lower = (make.place(name, "shelf", rack, order) for order, name in ((1, "upper"), (2, "lower")))
    for place in (rack, upper, lower):
        place.refresh_from_db()  # each new one numbers the walk anew
    return rack, upper, lower


@pytest.mark.django_db
def test_the_walk_goes_shelf_by_shelf_and_along_each():
    _, upper, lower = in_rack()
    for code, place, position in (("E-3", lower, 1), ("E-2", upper, 2), ("E-1", upper, 1)):
        make.housed(make.SpecimenFactory(), code, place=place, position=position)
    assert codes() == ["E-1", "E-2", "E-3"]
    assert codes(lower) == ["E-3"]
    assert [spot for _, spot in cards.spots([e.pk for e in cards.enclosures(upper, False, TODAY)])] == [
        "B 1·1",
        "B 1·2",
    ]


@pytest.mark.django_db
def test_an_enclosure_that_stands_nowhere_is_called_by_its_code():
    box = make.housed(make.SpecimenFactory(), "E-9")
    assert cards.spots([box.pk]) == [("E-9", "E-9")]


@pytest.mark.django_db
def test_nobody_walks_to_an_empty_a_retired_or_a_left_enclosure():
    make.EnclosureFactory(code="empty")
    animal, dead, lent = (make.SpecimenFactory() for _ in range(3))
    make.housed(animal, "former")
    services.move(animal, make.EnclosureFactory(code="now"), TODAY)
    make.housed(dead, "of the dead")
    make.died(dead, TODAY)
    make.housed(lent, "of the lent")
    make.left(lent, TODAY, "lent")
    retired = make.housed(make.SpecimenFactory(), "retired")
    Enclosure.objects.filter(pk=retired.pk).update(retired_on=TODAY)
    assert codes() == ["now"]


@pytest.mark.django_db
def test_only_due_leaves_out_who_ate_yesterday():
    hungry, full = make.SpecimenFactory(), make.SpecimenFactory()
    make.housed(hungry, "E-1")
    make.housed(full, "E-2")
    make.fed(hungry, date(2026, 10, 1))
    make.fed(full, TODAY - timedelta(days=1))
    assert codes(only_due=True) == ["E-1"]


@pytest.mark.django_db
def test_several_in_one_enclosure_are_one_stop_with_a_card_each():
    one, two, dead = (make.SpecimenFactory(code=code) for code in ("B-1", "B-2", "B-3"))
    home = make.housed(one, "E-1")
    for other in (two, dead):
        services.move(other, home, date(2025, 1, 1), companion=True)
    make.died(dead, TODAY - timedelta(days=3))
    [stop] = stops(home)
    assert [animal[1] for animal in stop[4]] == ["B-1", "B-2"]
    assert codes() == ["E-1"]


@pytest.mark.django_db
def test_a_group_says_how_many_heads_it_has_and_a_culture_asks_for_no_feed():
    group = make.SpecimenFactory(kind="communal")
    record_count(GroupCount(specimen=group, earliest=TODAY, latest=TODAY, count=14))
    card = only_animal(make.housed(group))
    assert (card[3], card[10]) == ("group", 14)
    culture = only_animal(make.housed(make.SpecimenFactory(kind="culture")))
    assert (culture[3], culture[5]) == ("group", [])


@pytest.mark.django_db
def test_the_card_tells_reason_meals_last_prey_and_water():
    animal = make.SpecimenFactory()
    home = make.housed(animal)
    make.fed(animal, TODAY - timedelta(days=50), prey="roach", prey_mm=30)
    make.fed(animal, TODAY - timedelta(days=30), "refused", prey="cricket", prey_mm=20)
    services.record_upkeep(Upkeep(enclosure=home, kind="water", on=TODAY - timedelta(days=3)))
    card = only_animal(home)
    assert card[5] == [["over", "26 days over", "Refused once since 15 October; try again."]]
    assert card[7] == [[6, 1], [26, 0]]
    assert card[9] == ["cricket", 20.0]
    assert stops(home)[0][3] == 3


@pytest.mark.django_db
def test_a_hold_is_on_the_card_even_when_the_next_feed_lies_beyond_it():
    animal = make.SpecimenFactory()
    home = make.housed(animal)
    make.fed(animal, TODAY - timedelta(days=1))
    make.held(animal, TODAY - timedelta(days=2), TODAY + timedelta(days=1))
    assert only_animal(home)[6] == "Ill since 2 December, until 5 December."
    assert only_animal(make.housed(make.SpecimenFactory()))[6] is None


@pytest.mark.django_db
def test_of_two_holds_the_card_tells_the_one_that_lasts():
    animal = make.SpecimenFactory()
    make.held(animal, TODAY - timedelta(days=2), TODAY + timedelta(days=1))
    make.held(animal, TODAY - timedelta(days=9), kind="cooling")
    assert only_animal(make.housed(animal))[6] == "Cooling since 25 November, until lifted."


@pytest.mark.django_db
def test_the_prey_offered_first_is_what_was_fed_most_of_late():
    animal = make.SpecimenFactory()
    for day, kind, mm in ((1, "roach", 25.0), (2, "roach", 25.0), (3, "cricket", 10.0), (200, "locust", 40.0)):
        make.fed(animal, TODAY - timedelta(days=day), prey=kind, prey_mm=mm)
    make.fed(animal, TODAY, "refused")  # no prey named
    offered = cards.feeders(TODAY)
    assert offered[:3] == [Feeder("roach", 25.0), Feeder("cricket", 10.0), Feeder("fruit flies", 3)]
    assert len(offered) == len(set(offered)) <= cards.FEEDERS_SHOWN


@pytest.mark.django_db
def test_the_page_asks_as_many_questions_for_forty_stops_as_for_two(django_assert_num_queries):
    rack, *_ = in_rack()
    homes = [make.housed(make.SpecimenFactory(), place=rack, position=n) for n in range(40)]
    for home in homes[::3]:
        animal = home.stays.get().specimen
        make.fed(animal, TODAY - timedelta(days=3), prey="roach")
        make.held(animal, TODAY)
    with django_assert_num_queries(19):
        cards.payload([home.pk for home in homes[:2]], TODAY)
    with django_assert_num_queries(19):
        cards.payload([home.pk for home in homes], TODAY)


# Common practice in care pages: prey not longer than the body without its legs, for spiderlings about the abdomen.
@pytest.mark.parametrize(
    ("stage", "size", "body", "longest"),
    [
        (Stage.ADULT, 150.0, False, 65.2),
        (Stage.ADULT, 60.0, True, 60.0),
        (Stage.YOUNG, 20.0, False, 4.3),
        (Stage.YOUNG, 8.0, True, 4.0),
        (Stage.ADULT, None, False, None),
    ],
)
def test_prey_is_no_longer_than_the_body_and_for_young_about_the_abdomen(stage, size, body, longest):
    assert prey.prey_limit(stage, size, measured_body=body) == longest


@pytest.mark.parametrize("size", [0.0, -3.0, float("nan")])
def test_a_size_that_nothing_can_have_has_no_prey(size):
    with pytest.raises(ValueError, match="above zero"):
        prey.prey_limit(Stage.ADULT, size)
