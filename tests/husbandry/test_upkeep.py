"""Misting, cleaning and looking for mould fall due beside feeding, by a rhythm of the enclosure or of its place."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from collection import attention, dues, receipts
from collection.models import Due, Receipt
from husbandry import cards, services
from husbandry.models import Place, Upkeep, UpkeepRhythm
from husbandry.upkeep_sources import rhythms_of
from tests import factories as make
from tests.husbandry.walking import refusals, stored, take, tap, walk_past

pytestmark = pytest.mark.django_db


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def rack():
    return services.save_place(Place(name="Rack A"))


@pytest.fixture
def animal(rack):
    animal = make.SpecimenFactory(code="B-001")
    box = make.housed(animal, "E-1")
    box.place = rack
    services.save_enclosure(box)
    return animal


def upkeep_of(animal) -> Due | None:
    return Due.objects.filter(specimen=animal, kind="upkeep").first()


def said(animal, today):
    return attention.due_kinds["upkeep"].say(dues.as_stored(upkeep_of(animal)), today)


def test_without_a_rhythm_nothing_is_asked_for(animal):
    assert upkeep_of(animal) is None


def test_a_rhythm_of_the_rack_holds_for_all_that_stands_in_it(animal, rack, today):
    services.set_upkeep_rhythms(rack, {"misting": 3}, today)
    assert upkeep_of(animal).due_on == today + timedelta(days=3)


def test_the_enclosures_own_rhythm_goes_before_its_racks(animal, rack, today):
    box = services.enclosure_of(animal)
    services.set_upkeep_rhythms(rack, {"misting": 3, "cleaning": 30}, today)
    services.set_upkeep_rhythms(box, {"misting": 0}, today)
    assert rhythms_of(box) == [("cleaning", 30)]
    assert [job[0] for job in upkeep_of(animal).facts["jobs"]] == ["cleaning"]


def test_of_two_places_around_it_the_nearer_one_counts(animal, rack, today):
    shelf = services.save_place(Place(name="Shelf 1", parent=rack, kind="shelf"))
    box = services.enclosure_of(animal)
    box.place = shelf
    services.save_enclosure(box)
    services.set_upkeep_rhythms(rack, {"misting": 9}, today)
    services.set_upkeep_rhythms(shelf, {"misting": 2}, today)
    assert rhythms_of(services.enclosure_of(animal)) == [("misting", 2)]


def test_a_shelf_that_moves_to_another_rack_follows_its_rhythm(animal, rack, today):
    other = services.save_place(Place(name="Rack B"))
    services.set_upkeep_rhythms(other, {"misting": 2}, today)
    assert upkeep_of(animal) is None
    rack.parent = other
    services.save_place(rack)
    assert upkeep_of(animal).due_on == today + timedelta(days=2)


def test_a_shelf_whose_move_is_taken_back_follows_the_rhythm_it_had(keeper_client, animal, rack, today):
    other = services.save_place(Place(name="Rack B"))
    services.set_upkeep_rhythms(other, {"misting": 2}, today)
    form = {"name": "Rack A", "kind": "rack", "parent": other.pk, "order": "0"}
    keeper_client.post(reverse("husbandry:place-edit", args=[rack.pk]), form)
    assert upkeep_of(animal) is not None
    receipts.undo(Receipt.objects.latest("pk"))
    assert upkeep_of(animal) is None


def test_the_sentence_names_all_that_is_due_with_its_last_time(animal, today):
    box = services.enclosure_of(animal)
    services.set_upkeep_rhythms(box, {"misting": 3, "check": 7, "cleaning": 60}, today - timedelta(days=10))
    services.record_upkeep(Upkeep(enclosure=box, kind="check", on=today - timedelta(days=8)))
    what = said(animal, today)
    assert what.plate == "7 days over"
    assert what.sentence.startswith("Misting not on record, rhythm 3; looked for mould and mites last on ")
    assert [action.label for action in what.actions] == ["Misting done", "Looked for mould"]


def test_what_was_done_in_place_is_done_and_can_be_undone(keeper_client, animal, today):
    services.set_upkeep_rhythms(services.enclosure_of(animal), {"misting": 3}, today - timedelta(days=5))
    answer = keeper_client.post(f"/animals/{animal.pk}/upkeep-done/", {"kind": "misting", "once": "k"}, follow=True)
    assert answer.status_code == 200
    assert upkeep_of(animal).due_on == today + timedelta(days=3)
    receipts.undo(Receipt.objects.get(key="k"))
    assert upkeep_of(animal).due_on == today - timedelta(days=2)


def test_a_round_is_done_in_a_whole_place_at_once(keeper_client, animal, rack, today):
    other = make.SpecimenFactory(code="B-002")
    box = make.housed(other, "E-2")
    box.place = rack
    services.save_enclosure(box)
    services.set_upkeep_rhythms(rack, {"misting": 3}, today - timedelta(days=9))
    assert 'value="misting"' in keeper_client.get(rack.get_absolute_url()).content.decode()
    keeper_client.post(f"/racks/{rack.pk}/round/", {"kind": "misting", "once": "k"})
    assert {upkeep_of(one).due_on for one in (animal, other)} == {today + timedelta(days=3)}
    receipts.undo(Receipt.objects.get(key="k"))
    assert not Upkeep.objects.exists()


def test_where_nobody_lives_nothing_is_done(keeper_client, rack):
    answer = keeper_client.post(f"/racks/{rack.pk}/round/", {"kind": "misting"}, follow=True)
    assert "Nobody lives in Rack A." in answer.content.decode()
    assert keeper_client.post(f"/racks/{rack.pk}/round/", {"kind": "dancing"}).status_code == 400


def test_an_unknown_kind_is_refused(keeper_client, animal):
    assert keeper_client.post(f"/animals/{animal.pk}/upkeep-done/", {"kind": "polishing"}).status_code == 400


def test_the_form_sets_keeps_and_takes_away(keeper_client, animal, today):
    box = services.enclosure_of(animal)
    keeper_client.post(f"/enclosures/{box.pk}/upkeep/", {"misting": "3", "check": "0", "once": "a"})
    assert dict(UpkeepRhythm.objects.values_list("kind", "days")) == {"misting": 3, "check": 0}
    keeper_client.post(f"/enclosures/{box.pk}/upkeep/", {"misting": "4", "once": "b"})
    assert dict(UpkeepRhythm.objects.values_list("kind", "days")) == {"misting": 4}
    receipts.undo(Receipt.objects.get(key="b"))
    assert dict(UpkeepRhythm.objects.values_list("kind", "days")) == {"misting": 3, "check": 0}
    assert upkeep_of(animal).due_on == today + timedelta(days=3)


def test_an_impossible_rhythm_is_refused_beside_its_field(keeper_client, rack):
    answer = keeper_client.post(f"/racks/{rack.pk}/upkeep/", {"misting": "-2", "cleaning": "30"})
    assert answer.status_code == 422
    assert 'value="30"' in answer.content.decode()
    assert not UpkeepRhythm.objects.exists()


def test_the_walks_card_offers_what_is_done_there_and_takes_the_tap(keeper, today):
    animal = make.SpecimenFactory(code="B-002")
    walk = walk_past(animal, by=keeper)
    box = services.enclosure_of(animal)
    services.set_upkeep_rhythms(box, {"misting": 3}, today)
    assert cards.payload([box.pk], today)["stops"][0][5] == [["misting", "misting"]]
    done = tap("upkeep", animal, work="misting")
    assert take(walk, done).saved == [done["key"]]
    assert stored(done).upkeep.kind == "misting"
    assert stored(done).said == "misting"
    assert take(walk, tap("undo", animal, undoes=done["key"])).refused == {}
    assert not Upkeep.objects.exists()


def test_a_tap_that_does_not_say_what_was_done_is_refused(keeper):
    animal = make.SpecimenFactory()
    walk = walk_past(animal, by=keeper)
    assert refusals(walk, tap("upkeep", animal)) == ["Say what was done."]


def test_the_form_says_what_the_place_around_asks_for(keeper_client):
    rack = make.place("Rack A", "rack")
    shelf = make.place("A1", "shelf", parent=rack)
    UpkeepRhythm.objects.create(place=rack, kind="misting", days=5, since=make.TODAY)
    said = "Left empty: every 5 days, as Rack A has it. 0: not here."
    assert said in keeper_client.get(reverse("husbandry:place-upkeep", args=[shelf.pk])).content.decode()
    assert said not in keeper_client.get(reverse("husbandry:place-upkeep", args=[rack.pk])).content.decode()
    box = make.EnclosureFactory(place=shelf)
    assert said in keeper_client.get(reverse("husbandry:enclosure-upkeep", args=[box.pk])).content.decode()
