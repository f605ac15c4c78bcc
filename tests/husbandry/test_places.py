"""Places as a tree in walking order, and who stands where."""

import re
from datetime import date

import pytest
from django.urls import reverse

from collection.services import Refused
from husbandry import services
from husbandry.models import Place, Walk
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]


def names():
    return list(Place.objects.in_walking_order().values_list("name", flat=True))


def page(client, name, *pks, **query):
    answer = client.get(reverse(f"husbandry:{name}", args=pks), query)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.fixture
def tree():
    """Two racks in a room, entered in the wrong order, with two shelves in the first."""
    room = make.place("Room", "room")
    second = make.place("Rack B", parent=room, order=2)
    first = make.place("Rack A", parent=room, order=1)
    shelves = [make.place(f"Shelf {n}", "shelf", first, order=n) for n in (2, 1)]
    return {place.name: place for place in (room, first, second, *shelves)}


def test_places_stand_in_the_order_of_the_walk_whatever_the_order_they_came_in(tree):
    assert names() == ["Room", "Rack A", "Shelf 1", "Shelf 2", "Rack B"]
    assert [Place.objects.get(name=name).depth for name in ("Room", "Rack A", "Shelf 1")] == [1, 2, 3]


def test_a_place_that_moves_takes_what_stands_in_it_along(tree):
    rack = Place.objects.get(name="Rack A")
    rack.order = 3
    services.save_place(rack)
    assert names() == ["Room", "Rack B", "Rack A", "Shelf 1", "Shelf 2"]


def test_without_an_order_names_decide():
    for name in ("C", "A", "B"):
        make.place(name)
    assert names() == ["A", "B", "C"]


def test_a_place_never_stands_inside_what_stands_in_it(tree):
    room = Place.objects.get(name="Room")
    room.parent = Place.objects.get(name="Shelf 1")
    with pytest.raises(Refused, match="cannot stand inside itself") as refusal:
        services.save_place(room)
    assert refusal.value.field == "parent"


def test_the_list_counts_enclosures_in_use_and_who_lives_in_them(keeper_client, tree):
    shelf = tree["Shelf 1"]
    for n in range(3):
        make.EnclosureFactory(place=shelf, position=n)
    make.housed(make.SpecimenFactory(), place=shelf)
    make.EnclosureFactory(place=shelf, retired_on=date(2026, 1, 1))
    moved = make.SpecimenFactory()
    make.housed(moved, place=shelf)
    make.died(moved, date(2026, 1, 1))
    assert "5 enclosures, 1 lived in" in page(keeper_client, "place-list")


def test_enclosures_that_stand_nowhere_are_counted(keeper_client, tree):
    make.EnclosureFactory()
    assert "1 enclosure stands in no place yet." in page(keeper_client, "place-list")


def test_a_house_without_places_says_what_would_stand_here(keeper_client, helper_client):
    assert "Add the room or the first rack" in page(keeper_client, "place-list")
    said = page(helper_client, "place-list")
    assert "No place yet" in said
    assert "Add the room" not in said


def test_a_place_shows_all_that_stands_in_it_in_walking_order(keeper_client, tree):
    for name, code, position in (
        ("Shelf 2", "E-3", 1),
        ("Shelf 1", "E-2", 2),
        ("Shelf 1", "E-1", 1),
        ("Rack B", "E-9", 1),
    ):
        make.housed(make.SpecimenFactory(code=f"of {code}"), code, place=tree[name], position=position)
    said = page(keeper_client, "place-detail", tree["Rack A"].pk)
    assert "3 enclosures in walking order" in said
    assert said.index("of E-1") < said.index("of E-2") < said.index("of E-3")
    assert "of E-9" not in said


def test_a_place_with_nothing_in_it_says_so(keeper_client, tree):
    assert "Nothing stands here yet." in page(keeper_client, "place-detail", tree["Rack B"].pk)


@pytest.mark.parametrize("number", ["2", "99", "abc", "-1"])
def test_a_full_place_is_turned_page_by_page(keeper_client, number):
    rack = make.place()
    for n in range(61):
        make.EnclosureFactory(place=rack, position=n)
    said = page(keeper_client, "place-detail", rack.pk, page=number)
    assert "61 enclosures in walking order" in said


def test_an_enclosure_shows_who_lives_and_lived_there(keeper_client, helper_client, tree):
    old, new = make.SpecimenFactory(code="Old"), make.SpecimenFactory(code="New")
    box = make.housed(old, "E-1", place=tree["Shelf 1"], position=4, length_mm=200, width_mm=150, height_mm=100)
    make.died(old, date(2026, 5, 1))
    services.move(new, box, date(2026, 6, 1))
    for client in (keeper_client, helper_client):
        said = page(client, "enclosure-detail", box.pk)
        assert said.index("New") < said.index("Old")
        assert "2026-05-01" in said
        assert "200 × 150 × 100 mm" in said
        assert "place 4" in said


def test_an_empty_enclosure_has_had_nobody(keeper_client):
    assert "Nobody so far." in page(keeper_client, "enclosure-detail", make.EnclosureFactory().pk)


@pytest.mark.parametrize("name", ["place-detail", "enclosure-detail", "place-edit", "enclosure-edit"])
def test_what_is_not_there_is_not_found(keeper_client, name):
    assert keeper_client.get(reverse(f"husbandry:{name}", args=[999])).status_code == 404


def test_a_walk_of_what_is_due_begins_on_the_page_of_the_place(keeper_client):
    shelf = make.place("A1", "shelf")
    animal = make.SpecimenFactory()
    make.housed(animal, "E-1", place=shelf)
    page = keeper_client.get(shelf.get_absolute_url()).content.decode()
    [button] = re.findall(r'<button[^>]+formaction="([^"]+)"', page)
    answer = keeper_client.post(button, {"place": shelf.pk, "only": "due", "once": "k"})
    assert answer.url == reverse("husbandry:walk", args=[Walk.objects.get().pk])
    assert Walk.objects.get().place == shelf
