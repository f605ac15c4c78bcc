"""Setting out, the page of the walk, its end: who sees what, and that a walk can be gone on with."""

import json
import re
from datetime import timedelta

import pytest
import time_machine
from django.utils import timezone

from collection.models import Taxon
from husbandry import services
from husbandry.models import Walk
from tests import factories as make
from tests.husbandry.walking import post, tap, walk_past

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _still():
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


@pytest.fixture
def walk(animal, keeper) -> Walk:
    return walk_past(animal, by=keeper)


def data(client, walk) -> dict:
    page = client.get(f"/walks/{walk.pk}/").content.decode()
    return json.loads(re.search(r'<script id="walk-data" type="application/json">(.*?)</script>', page, re.S)[1])


def set_out(client, **form: str):
    return client.post("/racks/walk/", {"place": "", "only": "all", **form})


def test_a_walk_of_the_house_stops_at_every_enclosure_that_somebody_lives_in(keeper_client, animal):
    home = make.housed(animal)
    answer = set_out(keeper_client)
    walk = Walk.objects.get()
    assert answer.headers["Location"] == f"/walks/{walk.pk}/"
    assert (walk.stops, walk.by.username, walk.only_due) == ([home.pk], "keeper", False)


def test_a_form_sent_twice_begins_one_walk_until_something_was_tapped(keeper_client, animal):
    make.housed(animal)
    first, again = set_out(keeper_client), set_out(keeper_client)
    assert first.headers["Location"] == again.headers["Location"]
    post(keeper_client, Walk.objects.get(), tap("water", animal))
    assert set_out(keeper_client).headers["Location"] != first.headers["Location"]


def test_where_nothing_is_due_nobody_sets_out(keeper_client, animal):
    rack = make.place("Rack B")
    make.housed(animal, place=rack)
    make.fed(animal, make.TODAY)
    page = keeper_client.post("/racks/walk/", {"place": str(rack.pk), "only": "due"}, follow=True)
    assert "Nothing is due in Rack B." in page.content.decode()
    assert not Walk.objects.exists()


@pytest.mark.parametrize(("place", "status"), [("999", 404), ("²", 302), ("9" * 30, 302), ("-1", 302)])
def test_a_place_that_does_not_exist_breaks_nothing(keeper_client, animal, place, status):
    make.housed(animal)
    assert set_out(keeper_client, place=place).status_code == status


def test_the_page_to_set_out_from_counts_what_is_due_and_names_open_walks(keeper_client, helper, animal):
    rack = make.place("Rack B")
    make.housed(animal, place=rack)
    make.fed(animal, make.TODAY - timedelta(days=60))
    make.fed(full := make.SpecimenFactory(), make.TODAY)
    walk_past(full, by=helper, place=rack)
    page = keeper_client.get("/racks/walk/").content.decode()
    assert "1 of 2 enclosures due" in page
    assert re.search(r"Rack B</a>.*since 4 December, 09:30, helper", page)


def test_the_page_holds_what_was_tapped_and_not_what_was_undone(keeper_client, walk, animal):
    kept, gone = tap("taken", animal, prey="roach", mm=30, number=1), tap("water", animal)
    post(keeper_client, walk, kept, gone, tap("undo", undoes=gone["key"]))
    [done] = data(keeper_client, walk)["done"]
    assert done[:4] == [kept["key"], "taken", kept["enclosure"], animal.pk]
    assert done[4] == {"prey": "roach", "mm": 30.0, "number": 1.0}


def test_the_page_knows_whose_it_is_when_it_began_and_where_the_door_is(keeper_client, walk):
    found = data(keeper_client, walk)
    assert (found["by"], found["began"]) == ("keeper", walk.started_at.isoformat())
    assert found["door"] == f"/sign-in/?next=%2Fwalks%2F{walk.pk}%2F"
    assert found["now"] == int(timezone.now().timestamp() * 1000)


def test_a_helper_walks_the_own_walks_and_no_others(helper_client, helper, walk):
    for page in ("", "summary/"):
        assert helper_client.get(f"/walks/{walk.pk}/{page}").status_code == 404
    assert helper_client.post(f"/walks/{walk.pk}/summary/").status_code == 404
    own = walk_past(make.SpecimenFactory(), by=helper)
    assert helper_client.get(f"/walks/{own.pk}/").status_code == 200
    page = helper_client.get("/racks/walk/").content.decode()
    assert f"/walks/{own.pk}/" in page
    assert f"/walks/{walk.pk}/" not in page


def test_a_helper_sees_neither_prices_nor_contacts(helper_client, helper):
    source = make.ContactFactory(name="Sold by this one")
    animal = make.SpecimenFactory(price="123.45", acquired_from=source)
    own = walk_past(animal, by=helper)
    pages = [helper_client.get(f"/walks/{own.pk}/{page}").content.decode() for page in ("", "summary/")]
    assert animal.code in pages[0]
    assert not any("123.45" in page or "123,45" in page or source.name in page for page in pages)


def test_a_name_from_a_spreadsheet_cannot_break_out_of_the_page(keeper_client, keeper):
    taxon = make.TaxonFactory(name="Fictor </script><b>x")
    walk = walk_past(make.SpecimenFactory(taxon=taxon), by=keeper)
    assert "</script><b>" not in keeper_client.get(f"/walks/{walk.pk}/").content.decode()
    assert data(keeper_client, walk)["taxa"][0][0] == taxon.name


def test_an_unknown_hazard_is_not_a_harmless_one(keeper_client, keeper):
    unknown = make.SpecimenFactory()
    Taxon.objects.filter(pk=unknown.taxon_id).update(venom_class=None, hair_class=None)
    harmless = make.SpecimenFactory(taxon__venom_class=0, taxon__hair_class=0)
    taxa = data(keeper_client, walk_past(unknown, harmless, by=keeper))["taxa"]
    assert [taxon[2:4] for taxon in taxa] == [[None, None], [0, 0]]


def test_the_summary_tells_what_was_used_and_what_was_left_out(keeper_client, keeper, animal):
    other, gone = make.SpecimenFactory(), make.SpecimenFactory()
    walk = walk_past(animal, other, gone, by=keeper)
    make.left(gone, make.TODAY)
    post(keeper_client, walk, tap("taken", animal, prey="roach", mm=30, number=2))
    page = keeper_client.get(f"/walks/{walk.pk}/summary/").content.decode()
    assert "1 took food" in page
    assert "1 of 3 stops left out" in page
    assert re.search(r"roach, 30 mm</td><td class=.r.>2", page)
    left = services.enclosure_of(other).code
    assert f"/walks/{walk.pk}/#{left}" in page


def test_a_walk_is_ended_and_gone_on_with(keeper_client, walk):
    address = f"/walks/{walk.pk}/summary/"
    assert keeper_client.post(address).headers["Location"] == address
    walk.refresh_from_db()
    assert walk.ended_at == timezone.now()
    assert keeper_client.post(address, {"again": "1"}).headers["Location"] == f"/walks/{walk.pk}/"
    walk.refresh_from_db()
    assert walk.ended_at is None


def test_the_summary_asks_as_many_questions_for_many_taps_as_for_one(
    keeper_client, keeper, django_assert_max_num_queries
):
    animals = [make.SpecimenFactory() for _ in range(20)]
    walk = walk_past(*animals, by=keeper)
    post(keeper_client, walk, *[tap("taken", one) for one in animals])
    with django_assert_max_num_queries(12):
        keeper_client.get(f"/walks/{walk.pk}/summary/")
    with django_assert_max_num_queries(23):
        keeper_client.get(f"/walks/{walk.pk}/")
