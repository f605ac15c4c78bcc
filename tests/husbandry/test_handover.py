"""The handover sheet: who gets what on which day, what is left alone, and whom to call."""

from datetime import date

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection import dues
from husbandry import handover
from husbandry.models import EmergencyCard, UpkeepRhythm
from tests.factories import (
    NOW,
    TODAY,
    SpecimenFactory,
    TaxonFactory,
    died,
    fed,
    female,
    held,
    housed,
    laid,
    molted,
    place,
    rhythm,
)

BEGINS, ENDS = date(2026, 12, 5), date(2026, 12, 18)
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("_frozen")]


@pytest.fixture
def _frozen():
    with time_machine.travel(NOW, tick=False):
        yield


def animal(code: str, position: int, rack=None, **values):
    made = SpecimenFactory(code=code, **values)
    housed(made, f"E-{code}", place=rack, position=position)
    return made


def lines(**kwargs):
    sheet = handover.sheet(kwargs.get("place"), BEGINS, ENDS)
    return {line.specimen.code: line for part in sheet.parts for line in part.lines}


def test_the_sheet_follows_the_walk_and_groups_by_rack():
    room = place("Room", "room")
    second, first = place("Rack B", parent=room, order=2), place("Rack A", parent=room, order=1)
    for code, rack, position in (("B-2", second, 1), ("A-2", first, 2), ("A-1", first, 1)):
        animal(code, position, rack)
    sheet = handover.sheet(None, BEGINS, ENDS)
    assert [(p.place.name, [line.specimen.code for line in p.lines]) for p in sheet.parts] == [
        ("Rack A", ["A-1", "A-2"]),
        ("Rack B", ["B-2"]),
    ]


def test_a_meal_overdue_falls_on_the_first_day_and_the_rhythm_runs_on_from_it():
    one = animal("A-1", 1)
    fed(one, date(2026, 11, 1), prey="cricket", prey_mm=15)
    line = lines()["A-1"]
    interval = line.specimen.dues.get(kind="feed").facts["interval"]
    assert line.plan.feed[0] == BEGINS
    assert all((b - a).days == interval for a, b in zip(line.plan.feed, line.plan.feed[1:], strict=False))


def test_the_prey_of_last_time_stands_beside_the_animal():
    one = animal("A-1", 1)
    fed(one, date(2026, 11, 20), prey="cricket", prey_mm=15)
    assert lines()["A-1"].prey == "cricket, 15 mm"


def test_a_female_with_a_sac_is_left_alone_all_the_time():
    dam = female(code="F-1")
    housed(dam, "E-F-1")
    laid(dam, date(2026, 11, 20))
    line = lines()["F-1"]
    assert line.plan.feed == ()
    assert line.plan.hands_off == "Guarding the sac of 20 November 2026. Do not open."


def test_a_hold_that_ends_inside_the_absence_leaves_the_days_after_it():
    one = animal("A-1", 1)
    fed(one, date(2026, 11, 1))
    held(one, TODAY, date(2026, 12, 10), reason="Vet said so")
    line = lines()["A-1"]
    assert line.plan.feed
    assert min(line.plan.feed) >= date(2026, 12, 10)
    assert line.plan.hands_off.startswith("Vet said so until 10 December")


def test_the_dead_and_the_homeless_do_not_stand_on_the_sheet():
    gone = animal("A-1", 1)
    SpecimenFactory(code="A-2")
    died(gone, date(2026, 11, 30))
    assert lines() == {}


def test_animals_with_a_strong_bite_are_named_on_top():
    strong = TaxonFactory(venom_class=2)
    animal("V-1", 1, taxon=strong)
    animal("A-1", 2)
    assert [one.code for one in handover.sheet(None, BEGINS, ENDS).hazardous] == ["V-1"]


def test_a_molt_that_is_likely_inside_the_absence_is_warned_of():
    one = animal("A-1", 1)
    molted(one, date(2025, 9, 1), leg_span_mm=145)
    assert "A molt may come" in lines()["A-1"].plan.hands_off


def test_the_page_prints_numbers_cautions_and_ticks_for_keeper_and_helper(keeper_client: Client, helper_client: Client):
    EmergencyCard.objects.create(poison_centre="0123 456")
    fed(animal("A-1", 1), date(2026, 11, 1))
    for client in (keeper_client, helper_client):
        text = client.get(reverse("husbandry:handover"), {"begins": BEGINS, "ends": ENDS}).content.decode()
        assert "0123 456" in text
        assert 'class="box"' in text
        assert "gives no treatment" in text


def test_days_that_make_no_sense_are_answered_with_422_and_a_sentence(keeper_client: Client):
    answer = keeper_client.get(reverse("husbandry:handover"), {"begins": ENDS, "ends": BEGINS})
    assert answer.status_code == 422
    assert "before the first" in answer.content.decode()


def test_the_emergency_card_is_one_for_the_house_and_the_keepers_to_write(keeper_client: Client, helper_client: Client):
    address = reverse("husbandry:emergency-card")
    assert helper_client.get(address).status_code == 403
    for number in ("1", "2"):
        keeper_client.post(address, {"poison_centre": number, "once": f"key{number}"})
    assert [card.poison_centre for card in EmergencyCard.objects.all()] == ["2"]


def queries_of(client: Client) -> int:
    with CaptureQueriesContext(connection) as queries:
        client.get(reverse("husbandry:handover"), {"begins": BEGINS, "ends": ENDS})
    return len(queries)


def test_ten_animals_more_cost_no_query_more(keeper_client: Client):
    animal("A-0", 1)
    before = queries_of(keeper_client)
    for n in range(1, 11):
        animal(f"A-{n}", n + 1)
    assert queries_of(keeper_client) == before


def rounds(*animals_at: tuple[str, int, object], **kinds: int):
    for code, position, rack in animals_at:
        animal(code, position, rack)
    for kind, days in kinds.items():
        UpkeepRhythm.objects.create(place=animals_at[0][2], kind=kind, days=days, since=date(2026, 12, 1))
    dues.refresh_all()
    return [(r.day, r.place, r.what, r.spots, r.whole) for r in handover.sheet(None, BEGINS, ENDS).rounds]


def test_misting_and_the_other_rounds_stand_by_day_and_place():
    rack = place("Rack A", order=1)
    found = rounds(("A-1", 1, rack), ("A-2", 2, rack), misting=5, check=10)
    assert found == [
        (date(2026, 12, 6), "Rack A", "misting", ("A 1", "A 2"), True),
        (date(2026, 12, 11), "Rack A", "a look for mould and mites", ("A 1", "A 2"), True),
        (date(2026, 12, 11), "Rack A", "misting", ("A 1", "A 2"), True),
        (date(2026, 12, 16), "Rack A", "misting", ("A 1", "A 2"), True),
    ]


def test_a_round_of_some_enclosures_says_which():
    rack = place("Rack A", order=1)
    one = animal("A-1", 1, rack)
    animal("A-2", 2, rack)
    UpkeepRhythm.objects.create(enclosure=one.stays.get().enclosure, kind="misting", days=9, since=date(2026, 12, 1))
    dues.refresh_all()
    [found] = handover.sheet(None, BEGINS, ENDS).rounds
    assert (found.day, found.spots, found.whole) == (date(2026, 12, 10), ("A 1",), False)


def test_a_lid_that_stays_shut_is_only_misted():
    rack, dam = place("Rack A", order=1), female(code="F-1")
    housed(dam, "E-F-1", place=rack, position=1)
    laid(dam, date(2026, 11, 20))
    found = rounds(("A-1", 2, rack), cleaning=16, misting=10)
    assert [(what, spots) for _, _, what, spots, _ in found] == [("misting", ("A 1", "A 2")), ("cleaning", ("A 2",))]


def test_the_page_prints_the_rounds(keeper_client: Client):
    rounds(("A-1", 1, place("Rack A", order=1)), misting=5)
    text = keeper_client.get(reverse("husbandry:handover"), {"begins": BEGINS, "ends": ENDS}).content.decode()
    assert "Rounds, day by day" in text
    assert "Sun 6 Dec" in text


def test_a_large_house_gets_several_sheets_and_no_rack_is_torn(monkeypatch, keeper_client):
    monkeypatch.setattr(handover, "AT_ONCE", 2)
    for letter in "AB":
        rack = place(f"Rack {letter}", order=ord(letter))
        for position in (1, 2, 3):
            fed(animal(f"{letter}-{position}", position, rack), TODAY)
    sheets = [handover.sheet(None, BEGINS, ENDS, number) for number in (1, 2, 9)]
    assert [(one.number, one.of, [part.place.name for part in one.parts]) for one in sheets] == [
        (1, 2, ["Rack A"]),
        (2, 2, ["Rack B"]),
        (2, 2, ["Rack B"]),  # there is no ninth: the last one
    ]
    assert sum(len(part.lines) for one in sheets[:2] for part in one.parts) == 6  # nobody is left out
    page = keeper_client.get(reverse("husbandry:handover"), {"sheet": 2})
    assert "Sheet 2 of 2" in page.content.decode()


def test_a_rest_that_is_planned_inside_the_absence_stops_the_feeds_in_it():
    one = animal("A-1", 1)
    fed(one, date(2026, 11, 26))
    rhythm(one, 3)
    held(one, date(2026, 12, 8), date(2026, 12, 15), "cooling", "Winter rest")
    plan = lines()["A-1"].plan
    assert plan.feed == (date(2026, 12, 5), date(2026, 12, 15), date(2026, 12, 18))
    assert plan.hands_off == "From 8 December 2026: Winter rest until 15 December 2026. Offer nothing."


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_days_that_no_calendar_reaches_are_refused_in_a_sentence(keeper_client, day):
    answer = keeper_client.get("/racks/handover/", {"begins": day, "ends": day})
    assert answer.status_code == 422
    assert "A sheet is made for an absence within a year from today." in answer.content.decode()
