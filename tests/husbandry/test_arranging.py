"""A rack drawn as its shelves, and animals moved on it with two taps each."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from collection import receipts
from collection.models import Receipt
from husbandry import services
from husbandry.models import Place
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def rack():
    return services.save_place(Place(name="Rack A"))


def stands(rack, code, animal=None, position=0):
    box = make.housed(animal, code) if animal else make.EnclosureFactory(code=code)
    box.place, box.position = rack, position
    return services.save_enclosure(box)


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-001")


@pytest.fixture
def boxes(rack, animal):
    return stands(rack, "E-1", animal, 1), stands(rack, "E-2", position=2)


def page(client, rack, **asked):
    return client.get(f"/racks/{rack.pk}/arrange/", asked)


def put(client, rack, animal, box, once="k"):
    return client.post(
        f"/racks/{rack.pk}/arrange/put/", {"take": animal.pk, "enclosure": box.pk, "once": once}, follow=True
    )


def test_one_tap_takes_the_animal_and_every_free_enclosure_offers_itself(keeper_client, rack, animal, boxes):
    assert "Put here" not in page(keeper_client, rack).content.decode()
    shown = page(keeper_client, rack, take=animal.pk).content.decode()
    assert re.findall(r'name="enclosure" value="(\d+)"', shown) == [str(boxes[1].pk)]
    assert "In hand" in shown


def test_the_second_tap_moves_it_and_the_move_can_be_undone(keeper_client, rack, animal, boxes):
    assert put(keeper_client, rack, animal, boxes[1]).status_code == 200
    assert services.enclosure_of(animal) == boxes[1]
    receipts.undo(Receipt.objects.get(key="k"))
    assert services.enclosure_of(animal) == boxes[0]


def test_a_taken_enclosure_refuses_and_says_by_whom(keeper_client, rack, animal, boxes):
    other = make.SpecimenFactory(code="B-002")
    answer = put(keeper_client, rack, other, boxes[0])
    assert answer.status_code == 422
    assert "E-1 is taken by B-001" in answer.content.decode()


@pytest.mark.parametrize("sent", [{}, {"take": "x", "enclosure": "1"}, {"take": "9" * 30, "enclosure": "0"}])
def test_a_tap_without_an_animal_or_an_enclosure_says_what_to_do(keeper_client, rack, boxes, sent):
    answer = keeper_client.post(f"/racks/{rack.pk}/arrange/put/", sent)
    assert answer.status_code == 422
    assert "Tap the animal first" in answer.content.decode()


def test_an_animal_that_stands_nowhere_can_be_taken_too(keeper_client, rack, boxes):
    homeless = make.SpecimenFactory(code="B-009")
    assert "B-009" in page(keeper_client, rack).content.decode()
    put(keeper_client, rack, homeless, boxes[1])
    assert services.enclosure_of(homeless) == boxes[1]


def test_the_rack_is_drawn_shelf_by_shelf_with_what_is_due(keeper_client, rack, animal, boxes):
    shelf = services.save_place(Place(name="Shelf 2", parent=rack, kind="shelf"))
    stands(shelf, "E-3", make.SpecimenFactory(code="B-003"))
    make.fed(animal, timezone.localdate() - timedelta(days=60))
    shelves = keeper_client.get(f"/racks/{rack.pk}/").context["shelves"]
    assert [(s.place.name, [c.enclosure.code for c in s.cells]) for s in shelves] == [
        ("Rack A", ["E-1", "E-2"]),
        ("Shelf 2", ["E-3"]),
    ]
    assert [cell.due for cell in shelves[0].cells] == [True, False]


def test_more_enclosures_ask_no_more_of_the_database(keeper_client, rack, boxes, django_assert_max_num_queries):
    for n in range(12):
        stands(rack, f"F-{n}", make.SpecimenFactory())
    with django_assert_max_num_queries(12):
        page(keeper_client, rack)


def test_a_helper_looks_and_does_not_move(helper_client, rack, animal, boxes):
    assert helper_client.get(f"/racks/{rack.pk}/").status_code == 200
    assert page(helper_client, rack).status_code == 403


def test_enclosures_that_do_not_fit_are_listed_with_their_rule(keeper_client, rack, animal, boxes):
    make.molted(animal, make.TODAY, leg_span_mm=150)
    box = boxes[0]
    box.length_mm, box.width_mm, box.height_mm, box.substrate_mm = 300, 300, 300, 150
    services.save_enclosure(box)
    shown = keeper_client.get("/racks/fit/").content.decode()
    assert "length is 300 mm, and should be at least 450 mm" in shown
    assert "Three leg spans long, care pages" in shown
    assert "Does not fit" in keeper_client.get(f"/enclosures/{box.pk}/").content.decode()


def test_a_fitting_enclosure_is_not_listed(keeper_client, boxes):
    assert "breaks a rule" in keeper_client.get("/racks/fit/").content.decode()
