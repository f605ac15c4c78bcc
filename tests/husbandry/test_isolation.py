"""What may spread is kept apart: marked at the rack and on the card, walked last, its contacts listed and looked at."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection import attention, health_services
from collection.health import Found, Outcome
from collection.models import Arrival
from collection.services import Refused
from husbandry import cards, holds, isolation, services
from husbandry.exposure import How
from husbandry.models import ExposureCheck, Walk
from husbandry.rhythm import HoldKind
from tests import factories as make
from tests.husbandry.walking import take, tap, walk_of

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY, OPENED = make.TODAY, date(2026, 12, 1)


@pytest.fixture
def shelf():
    """Five enclosures in a row; the third holds somebody with mites."""
    rack = make.place("Rack")
    place = make.place("A1", "shelf", rack, 1)
    animals = [make.SpecimenFactory(code=f"B-{n}") for n in range(1, 6)]
    boxes = [make.housed(animal, f"E-{n}", place=place, position=n) for n, animal in enumerate(animals, 1)]
    issue = make.ill(animals[2], "mites", OPENED)
    return rack, animals, boxes, issue


def words(found):
    return {pk: [mark.word for mark in marks] for pk, marks in found.items()}


def test_the_enclosure_and_its_neighbours_are_marked_in_words(shelf):
    _, _, boxes, _ = shelf
    found = isolation.marks([box.pk for box in boxes])
    assert words(found) == {
        boxes[2].pk: ["keep apart"],
        **{boxes[n].pk: ["neighbour"] for n in (0, 1, 3, 4)},
    }
    assert found[boxes[1].pk][0].sentence == (
        "Stands beside E-3 (mites, suspected). Look for signs; do not carry tools across."
    )
    assert found[boxes[0].pk][0].sentence.startswith("Stands near E-3")


def test_another_shelf_a_closed_issue_and_what_does_not_spread_mark_nobody(shelf):
    rack, animals, boxes, issue = shelf
    elsewhere = make.housed(make.SpecimenFactory(), place=make.place("A2", "shelf", rack, 2), position=3)
    assert isolation.marks([elsewhere.pk]) == {}
    health_services.close_issue(issue, TODAY, Outcome.RESOLVED)
    make.ill(animals[0], "limb", OPENED)
    assert isolation.marks([box.pk for box in boxes]) == {}


def test_on_a_rack_without_shelves_only_what_stands_beside_is_marked():
    rack = make.place("Rack")
    animals = [make.SpecimenFactory() for _ in range(3)]
    boxes = [make.housed(animal, place=rack, position=n) for n, animal in enumerate(animals, 1)]
    make.ill(animals[0], "mould", OPENED)
    assert words(isolation.marks([box.pk for box in boxes])) == {
        boxes[0].pk: ["keep apart"],
        boxes[1].pk: ["neighbour"],
    }


def test_the_rack_and_the_enclosure_say_it(keeper_client, shelf):
    rack, _, boxes, issue = shelf
    text = keeper_client.get(rack.get_absolute_url()).content.decode()
    assert text.count("<b>neighbour</b>") == 4
    assert "<b>keep apart</b> Mites, suspected at B-3." in text
    assert reverse("husbandry:exposure", args=[issue.pk]) in text
    assert "<b>neighbour</b>" in keeper_client.get(boxes[0].get_absolute_url()).content.decode()


def test_a_walk_comes_to_quarantine_late_and_to_what_spreads_last(keeper_client, shelf):
    rack, animals, boxes, _ = shelf
    make.apart(animals[0], OPENED, TODAY)
    keeper_client.post(reverse("husbandry:walk-new"), {"place": rack.pk})
    assert Walk.objects.get().stops == [boxes[n].pk for n in (1, 3, 4, 0, 2)]


def test_the_card_says_it_before_anything_else(shelf):
    _, animals, boxes, _ = shelf
    make.worried(animals[1], "specks")
    stops = cards.payload([box.pk for box in boxes[1:3]], TODAY)["stops"]
    beside, apart = [[plate for _, plate, _ in stop[4][0][5]] for stop in stops]
    assert beside[:2] == ["neighbour", "something is wrong"]
    assert apart[:2] == ["keep apart", "ill"]


def test_a_tap_that_something_is_wrong_is_asked_for_until_it_is_answered(shelf, keeper):
    _, animals, boxes, _ = shelf
    take(walk_of(boxes[4], by=keeper), tap("note", animals[4], text="limps"))
    assert animals[4].dues.get(kind="concern").facts == {"said": "limps", "dry": False}


def test_the_dashboard_says_who_waits_for_a_look(shelf):
    _, animals, _, issue = shelf
    [item] = attention.house_sources["isolation"](TODAY)
    assert item.said.sentence.endswith("Of 4 that stand near, 4 wait for a look.")
    isolation.record_check(issue, animals[1], TODAY, Found.CLEAR)
    isolation.record_check(issue, animals[0], TODAY - timedelta(days=1), Found.CLEAR)
    [item] = attention.house_sources["isolation"](TODAY)
    assert item.said.sentence.endswith("Of 4 that stand near, 2 wait for a look.")
    [item] = attention.house_sources["isolation"](TODAY + timedelta(days=6))
    assert item.said.sentence.endswith("Of 4 that stand near, 3 wait for a look.")  # a look counts for a week


def ways(issue, days=30):
    return {
        row.specimen.code: [contact.how for contact in row.contacts] for row in isolation.exposed(issue, days, TODAY)
    }


def test_the_list_holds_everybody_who_was_near_with_every_way(shelf):
    _, animals, boxes, issue = shelf
    box = Arrival.objects.create(on=date(2026, 11, 20))
    for animal in (animals[2], make.SpecimenFactory(code="N-1")):
        animal.arrival = box
        animal.save()
    services.move(make.SpecimenFactory(code="M-1"), boxes[2], OPENED, companion=True)
    issue.specimen.arrival = box
    assert ways(issue) == {
        "M-1": [How.TOGETHER],
        "B-2": [How.BESIDE],
        "B-4": [How.BESIDE],
        "B-1": [How.SHELF],
        "B-5": [How.SHELF],
        "N-1": [How.BOX],
    }
    assert "N-1" not in ways(issue, 5)


def test_who_lived_there_before_it_moved_in_is_on_the_list_as_far_back_as_asked(shelf):
    _, animals, _, issue = shelf
    fresh = make.EnclosureFactory(code="E-9")
    before = make.SpecimenFactory(code="O-1")
    services.move(before, fresh, date(2026, 9, 1))
    services.move(before, make.EnclosureFactory(), date(2026, 11, 25))
    services.move(animals[2], fresh, date(2026, 11, 28))
    assert ways(issue)["O-1"] == [How.BEFORE]
    assert "O-1" not in ways(issue, 3)
    assert ways(issue)["B-2"] == [How.BESIDE]  # until it moved


def test_a_pairing_is_a_contact():
    dam = make.female(code="F-1")
    make.paired(dam, date(2026, 11, 20), sire=make.male(code="M-9", taxon=dam.taxon))
    issue = make.ill(dam, "nematodes", OPENED)
    assert ways(issue) == {"M-9": [How.MET]}


def test_the_list_is_a_page_to_print_with_a_look_to_tick(keeper_client, shelf):
    _, animals, _, issue = shelf
    address = reverse("husbandry:exposure", args=[issue.pk])
    text = keeper_client.get(address, {"days": "14"}).content.decode()
    assert "4 animals shared an enclosure, a shelf or a box with B-3 since 17 November" in text
    assert text.count("not yet") == 4
    check = reverse("husbandry:exposure-check", args=[issue.pk, animals[1].pk])
    answer = keeper_client.post(check, {"found": "doubtful", "days": "14"}, follow=True)
    assert "in doubt, 2026-12-04" in answer.content.decode()
    keeper_client.post(check, {"found": "clear", "days": "14"})
    assert ExposureCheck.objects.get().found == "clear"  # the second look of a day replaces the first


@pytest.mark.parametrize("days", ["", "abc", "0", "99999", "-3"])
def test_odd_days_in_the_address_still_open_the_page(keeper_client, shelf, days):
    address = reverse("husbandry:exposure", args=[shelf[3].pk])
    assert keeper_client.get(address, {"days": days}).status_code == 200


def test_the_one_it_is_about_is_not_its_own_contact(shelf):
    _, animals, _, issue = shelf
    with pytest.raises(Refused, match="is the one it is about"):
        isolation.record_check(issue, animals[2], TODAY, Found.CLEAR)
    with pytest.raises(Refused, match="lies before it"):
        isolation.record_check(issue, animals[1], OPENED - timedelta(days=1), Found.CLEAR)


def test_quarantine_among_the_others_is_warned_of_and_on_a_place_of_its_own_is_not(keeper_client, shelf):
    rack, animals, _, _ = shelf
    make.apart(animals[0], OPENED, TODAY)
    [said] = isolation.mixed(rack)
    assert said.startswith("B-1 is in quarantine and shares Rack with 4 others.")
    page = keeper_client.get(reverse("husbandry:apart"))
    assert said in page.content.decode()
    assert page.context["mixed"] == [said]
    assert reverse("collection:quarantine-end", args=[animals[0].pk]) in page.content.decode()
    make.apart(animals[1], OPENED, TODAY)
    assert isolation.mixed(rack)[0].startswith("B-1, B-2 are in quarantine and share Rack with 3 others.")
    animals[1].quarantines.all().delete()
    own = make.place("Quarantine", "shelf", rack, 2)
    own.quarantine = True
    services.save_place(own)
    services.move(animals[0], make.EnclosureFactory(place=own), TODAY)
    assert isolation.mixed(rack) == []


@pytest.mark.parametrize(("kind", "stops"), [("injury", True), ("mites", False), ("nematodes", True), ("limb", False)])
def test_feeding_stops_for_some_kinds_until_they_are_closed(kind, stops):
    animal = make.SpecimenFactory()
    make.fed(animal, date(2026, 11, 1))
    issue = make.ill(animal, kind, date(2026, 11, 20))
    held = [hold.kind for hold in holds.gather([animal.pk])[animal.pk] if hold.kind is HoldKind.ILLNESS]
    assert held == [HoldKind.ILLNESS] * stops
    assert (animal.dues.get(kind="feed").due_on is None) == stops
    health_services.close_issue(issue, TODAY, Outcome.RESOLVED)
    assert animal.dues.get(kind="feed").due_on is not None


def test_a_helper_sees_what_is_kept_apart_but_not_the_list(helper_client, shelf):
    make.apart(shelf[1][0], OPENED, TODAY)
    page = helper_client.get(reverse("husbandry:apart"))
    assert "Check" in page.content.decode()
    assert "End it" not in page.content.decode()
    assert helper_client.get(reverse("husbandry:exposure", args=[shelf[3].pk])).status_code == 403
