"""What needs the keeper on 4 December 2026: in walking order, counted, narrowed, and each with its reason."""

import re
from datetime import date, timedelta

import pytest

from collection.models import Measurement, Molt
from collection.services import write
from husbandry.services import move
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
HTMX = {"HX-Request": "true"}


def page(client, headers=None, **query):
    answer = client.get("/", query, headers=headers)
    assert answer.status_code == 200
    return answer


def codes(answer):
    """The animals of the list, in its order."""
    return [row.specimen.code for stop in answer.context["stops"] for row in stop.rows]


def said(answer):
    """Plate and sentence of every reason, by animal."""
    rows = [row for stop in answer.context["stops"] for row in stop.rows]
    return {row.specimen.code: [(what.plate, what.sentence) for what in row.said] for row in rows}


def fed(code, ago, **values):
    """An animal on its own rhythm of ten days, fed so many days ago."""
    animal = make.SpecimenFactory(code=code, **values)
    make.rhythm(animal, 10)
    make.fed(animal, TODAY - timedelta(days=ago))
    return animal


def test_an_overdue_feed_stands_with_its_reason_and_can_be_logged_in_place(keeper_client):
    animal = fed("B-1", 19)
    answer = page(keeper_client)
    assert said(answer) == {"B-1": [("9 days over", "Last took food 19 days ago; own rhythm 10.")]}
    text = answer.content.decode()
    for address in (f'hx-post="/animals/{animal.pk}/fed/"', f'formaction="/animals/{animal.pk}/fed/"'):
        assert text.count(address) == 2  # taken, refused


TORN = "Strong evidence stands on both sides; weighed, 62 % for female."


def test_reasons_for_every_kind_that_brings_an_animal_into_the_list(keeper_client):
    fed("Due", 10)
    thirsty = fed("Thirsty", 1)
    make.housed(thirsty, water_days=3)
    torn = fed("Torn", 1)
    for finding in ("female", "male"):
        make.looked(torn, finding, date(2026, 11, 30), looked_by=finding)
    soft = make.SpecimenFactory(code="Soft")
    write(Measurement(specimen=soft, earliest=TODAY, latest=TODAY, leg_span_mm=150), [soft], "measured")
    make.molted(soft, date(2026, 11, 20))
    assert said(page(keeper_client)) == {
        "Due": [("due today", "Last took food 10 days ago; own rhythm 10.")],
        "Thirsty": [("763 days over", "No water on record; rhythm 3.")],
        "Torn": [("evidence clashes", f"{TORN} Last looked at on 30 November.")],
        "Soft": [
            ("due today", "No meal on record since arrival 2 years ago; rhythm 14."),
            (
                "hardening over",
                "Molted 14 days ago; hardening is reckoned with 14 days. Offer a first meal once the fangs are black.",
            ),
        ],
    }


def test_the_most_pressing_reason_stands_first_and_all_that_is_due_can_be_done(keeper_client):
    animal = fed("B-1", 10)
    make.housed(animal, water_days=3, day=date(2026, 11, 1))
    (reasons,) = said(page(keeper_client)).values()
    assert [plate for plate, _ in reasons] == ["33 days over", "due today"]
    row = page(keeper_client).context["stops"][0].rows[0]
    assert [action.label for action in row.actions] == ["Water done", "Taken", "Refused"]


@pytest.fixture
def racks():
    """Two racks of one name in two rooms, with shelves, and animals that need food everywhere."""
    north, south = make.place("North", "room", order=1), make.place("South", "room", order=2)
    for room, mark in ((south, "S"), (north, "N")):
        rack = make.place("Rack 1", parent=room, order=1)
        for order in (2, 1):
            shelf = make.place(f"Shelf {order}", "shelf", rack, order)
            for position in (2, 1):
                animal = fed(f"{mark}{order}{position}", 15)
                make.housed(animal, place=shelf, position=position)


def test_the_list_is_in_walking_order_and_what_stands_nowhere_comes_last(keeper_client, racks):
    boxed = fed("Boxed", 15)
    make.housed(boxed)
    fed("Loose", 15)
    answer = page(keeper_client)
    assert codes(answer) == ["N11", "N12", "N21", "N22", "S11", "S12", "S21", "S22", "Boxed", "Loose"]
    assert [stop.name for stop in answer.context["stops"]] == ["Rack 1", "Rack 1", "No place yet"]
    assert [row.position for row in answer.context["stops"][0].rows] == ["1·1", "1·2", "2·1", "2·2"]


def test_boxes_without_a_position_follow_their_code(keeper_client):
    rack = make.place()
    for code in ("E-3", "E-1", "E-2"):
        make.housed(fed(f"of {code}", 15), code, place=rack)
    assert codes(page(keeper_client)) == ["of E-1", "of E-2", "of E-3"]


def test_an_animal_is_where_it_stands_now(keeper_client, racks):
    animal = fed("Moved", 15)
    make.housed(animal, place=None)
    last = make.EnclosureFactory(place=make.place("Attic", "room", order=9))
    move(animal, last, date(2026, 12, 1))
    assert codes(page(keeper_client))[-1] == "Moved"
    assert page(keeper_client).context["stops"][-1].name == "Attic"


def test_an_animal_that_needs_several_things_counts_once_among_all(keeper_client):
    both = fed("Both", 15)
    make.housed(both, water_days=3)
    fed("Due", 10)
    fed("Fine", 1)
    make.held(fed("Held", 15), date(2026, 11, 25))
    answer = page(keeper_client)
    counts = answer.context["counts"]
    assert (counts.places, counts.over, counts.due, counts.look, counts.held) == (2, 1, 1, 0, 1)
    assert len(codes(answer)) == counts.places
    lede = re.sub(r"<.*?>", "", answer.content.decode().partition('<p class="lede">')[2].partition("</p>")[0]).strip()
    assert lede == ("2 animals need you: 1 is overdue, 1 is due today. In walking order. 1 is held and not asked for.")


def test_a_held_animal_is_neither_overdue_nor_in_the_list_and_says_why_among_the_held(keeper_client):
    make.held(fed("Held", 15), date(2026, 11, 25))
    assert codes(page(keeper_client)) == []
    assert said(page(keeper_client, show="held")) == {"Held": [("held", "Ill since 25 November, until lifted.")]}


def test_among_the_held_the_hold_is_said_first(keeper_client):
    animal = fed("Held", 15)
    make.held(animal, date(2026, 11, 25))
    make.housed(animal, water_days=3)
    assert [plate for plate, _ in said(page(keeper_client, show="held"))["Held"]] == ["held", "763 days over"]


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({}, ["Due", "Over", "Torn"]),
        ({"show": "over"}, ["Over"]),
        ({"show": "due"}, ["Due"]),
        ({"show": "look"}, ["Torn"]),
        ({"show": "held"}, ["Held"]),
        ({"kind": "feed"}, ["Due", "Over"]),
        ({"kind": "feed", "show": "held"}, ["Held"]),
        ({"kind": "evidence"}, ["Torn"]),
        ({"kind": "water"}, []),
        ({"show": "nonsense"}, ["Due", "Over", "Torn"]),
        ({"kind": "nonsense"}, ["Due", "Over", "Torn"]),
    ],
)
def test_the_list_is_narrowed_by_urgency_and_by_kind(keeper_client, query, expected):
    fed("Over", 15)
    fed("Due", 10)
    make.held(fed("Held", 15), date(2026, 11, 25))
    torn = fed("Torn", 1)
    for finding in ("female", "male"):
        make.looked(torn, finding, looked_by=finding)
    assert sorted(codes(page(keeper_client, **query))) == expected


def test_kinds_that_stand_apart_are_counted_and_shown_on_demand(keeper_client):
    dam = fed("Dam", 1)
    make.paired(dam, date(2026, 10, 1))  # in her window, before its likeliest day
    answer = page(keeper_client)
    assert codes(answer) == []
    assert [(kind.name, number) for kind, number in answer.context["apart"]] == [("sac", 1)]
    assert [plate for plate, _ in said(page(keeper_client, kind="sac"))["Dam"]] == ["sac window open"]


def test_females_in_their_window_stand_beside_the_list(keeper_client):
    dam = make.female(code="Dam")
    make.paired(dam, date(2026, 9, 20))
    over = make.female(code="Over", taxon=dam.taxon)
    make.paired(over, date(2026, 5, 1))
    (panel,) = page(keeper_client).context["beside"]
    assert [row.female.code for row in panel.context["rows"]] == ["Dam"]
    assert panel.context["paired"] == 2


def test_a_long_list_is_turned_page_by_page(keeper_client):
    for n in range(41):
        fed(f"B-{n:02d}", 15)
    assert len(codes(page(keeper_client))) == 40
    assert codes(page(keeper_client, page=2)) == ["B-40"]
    assert codes(page(keeper_client, page="abc"))[0] == "B-00"
    assert codes(page(keeper_client, page=999)) == ["B-40"]


def test_the_list_alone_comes_as_a_fragment(keeper_client):
    fed("B-1", 15)
    text = page(keeper_client, HTMX).content.decode()
    assert text.lstrip().startswith('<div id="needs-list">')
    assert "B-1" in text
    assert "<html" not in text


def test_the_collection_in_one_line(keeper_client):
    make.female(), make.male(), make.SpecimenFactory(), make.SpecimenFactory(kind="group")
    make.died(make.male(), date(2026, 11, 1))
    make.left(make.female(), date(2026, 11, 1))
    tally = page(keeper_client).context["tally"]
    assert (tally.males, tally.females, tally.unsexed, tally.groups) == (1, 1, 1, 1)


def test_what_changed_this_month(keeper_client):
    came = {"acquired_earliest": date(2026, 12, 2), "acquired_latest": date(2026, 12, 2)}
    new = make.SpecimenFactory(**came)
    make.molted(new, date(2026, 12, 3))
    make.died(new, TODAY)
    make.left(make.SpecimenFactory(), date(2026, 12, 1))
    Molt.objects.create(specimen=make.SpecimenFactory(), earliest=date(2026, 11, 30))
    assert page(keeper_client).context["month"] == [(1, "molted"), (1, "came"), (1, "died"), (1, "passed on")]


def test_an_empty_house_says_what_would_stand_here_and_how_to_begin(keeper_client):
    text = page(keeper_client).content.decode()
    assert "Nobody lives here yet" in text
    assert "Bring your spreadsheet" in text


def test_a_quiet_day_and_an_empty_part_are_told_apart(keeper_client):
    fed("Fine", 1)
    assert "A quiet day" in page(keeper_client).content.decode()
    assert "Nothing stands in this part of the list today." in page(keeper_client, show="over").content.decode()


def test_other_verbs_are_refused(keeper_client):
    assert keeper_client.post("/").status_code == 405
