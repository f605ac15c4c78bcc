"""What the forms of husbandry know beforehand, and the refusals of their own."""

from datetime import date

import pytest
from django.urls import reverse

from husbandry import services
from husbandry.forms.care import FeedingForm
from husbandry.models import Enclosure, FeedRhythm, Hold, Place, Upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
DAY = date(2026, 11, 1)
BOX = {"code": "E-1", "kind": "box", "position": "0"}


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


def post(client, view, *pks, **data):
    return client.post(reverse(f"husbandry:{view}", args=pks), data)


def beside(answer, field):
    """What is said beside a field of a refused form."""
    assert answer.status_code == 422
    return answer.content.decode().partition(f'id="id_{field}_error">')[2].partition("</p>")[0]


def test_a_meal_starts_with_the_prey_of_last_time(animal):
    make.fed(animal, DAY, prey="roach nymph", prey_mm=12)
    form = FeedingForm(specimen=animal)
    assert (form["prey"].value(), form["prey_mm"].value(), form["outcome"].value()) == ("roach nymph", 12, "taken")


def test_the_usual_feeders_are_offered_but_any_prey_is_taken(keeper_client, animal):
    said = keeper_client.get(reverse("husbandry:feed-new", args=[animal.pk])).content.decode()
    assert 'list="feeders"' in said
    assert '<option value="cricket">' in said
    post(keeper_client, "feed-new", animal.pk, outcome="taken", prey="garden snail", number="1")
    assert animal.feedings.get().prey == "garden snail"


def test_upkeep_needs_an_enclosure(keeper_client, animal):
    answer = post(keeper_client, "upkeep-new", animal.pk, kind="water")
    assert answer.status_code == 422
    assert "B-1 stands in no enclosure yet. Move it into one first." in answer.content.decode()


def test_an_enclosure_is_named_by_its_code_in_any_case_or_by_its_tag(keeper_client, animal):
    first, second = make.EnclosureFactory(code="E-1"), make.EnclosureFactory(code="E-2")
    post(keeper_client, "move-new", animal.pk, enclosure="e-1")
    assert services.enclosure_of(animal) == first
    post(keeper_client, "move-new", animal.pk, enclosure=f"{second.tag[:4].lower()} {second.tag[4:]}")
    assert services.enclosure_of(animal) == second


def test_a_retired_enclosure_is_not_found(keeper_client, animal):
    make.EnclosureFactory(code="E-1", retired_on=DAY)
    assert "No enclosure is called “E-1”" in beside(
        post(keeper_client, "move-new", animal.pk, enclosure="E-1"), "enclosure"
    )


def test_a_taken_enclosure_is_refused_beside_its_field_until_it_is_meant(keeper_client, animal):
    make.housed(make.SpecimenFactory(code="B-2"), "E-1")
    assert "E-1 is taken by B-2" in beside(post(keeper_client, "move-new", animal.pk, enclosure="E-1"), "enclosure")
    assert post(keeper_client, "move-new", animal.pk, enclosure="E-1", companion="on").status_code == 302
    assert animal.stays.get().companion


def test_a_second_rhythm_of_one_day_replaces_the_first(keeper_client, animal):
    for days in ("10", "12"):
        post(keeper_client, "rhythm-new", animal.pk, days=days, on="2026-11-01")
    assert FeedRhythm.objects.get().days == 12


def test_a_rhythm_is_corrected_without_leaving_a_second_one(keeper_client, animal):
    post(keeper_client, "rhythm-new", animal.pk, days="10", on="2026-11-01")
    rhythm = FeedRhythm.objects.get()
    post(keeper_client, "rhythm-edit", animal.pk, rhythm.pk, days="9", on="2026-11-05")
    rhythm.refresh_from_db()
    assert (rhythm.days, rhythm.since) == (9, date(2026, 11, 5))


def test_a_rhythm_is_not_moved_onto_another_of_the_same_day(keeper_client, animal):
    for day in ("2026-11-01", "2026-11-05"):
        post(keeper_client, "rhythm-new", animal.pk, days="10", on=day)
    first = FeedRhythm.objects.earliest("since")
    answer = post(keeper_client, "rhythm-edit", animal.pk, first.pk, days="9", on="2026-11-05")
    assert "begins on that day already" in beside(answer, "on")
    assert list(FeedRhythm.objects.values_list("days", flat=True)) == [10, 10]


def test_a_hold_is_lifted_from_the_animals_page(keeper_client, animal):
    hold = make.held(animal, DAY)
    assert post(keeper_client, "hold-lift", hold.pk).url == animal.get_absolute_url()
    hold.refresh_from_db()
    assert hold.ends == make.TODAY


def test_a_hold_that_cannot_be_lifted_says_why_on_a_page_and_in_a_fragment(keeper_client, animal):
    hold = make.held(animal, make.TODAY)
    for headers in ({}, {"HX-Request": "true"}):
        answer = keeper_client.post(reverse("husbandry:hold-lift", args=[hold.pk]), headers=headers)
        assert answer.status_code == 422
        assert "A hold lasts at least a day" in answer.content.decode()
    assert Hold.objects.get().ends is None


def test_a_place_is_entered_where_one_stands_and_shown(keeper_client):
    room = make.place("Room", "room")
    said = keeper_client.get(reverse("husbandry:place-new"), {"in": room.pk}).content.decode()
    assert f'<option value="{room.pk}" selected>' in said
    answer = post(keeper_client, "place-new", name="Rack", kind="rack", parent=room.pk, order=1)
    rack = Place.objects.get(name="Rack")
    assert (answer.url, rack.walk_key) == (rack.get_absolute_url(), "00010001")


@pytest.mark.parametrize("inside", [False, True])
def test_a_place_of_that_name_there_already_is_refused_beside_its_name(keeper_client, inside):
    parent = make.place("Room", "room") if inside else None
    make.place("Rack", parent=parent)
    answer = post(keeper_client, "place-new", name="Rack", kind="rack", order=0, parent=parent.pk if inside else "")
    assert "There is one of this name there already" in beside(answer, "name")


def test_a_place_does_not_stand_inside_itself_or_what_stands_in_it(keeper_client):
    room = make.place("Room", "room")
    rack = make.place("Rack", parent=room)
    for inner in (room, rack):
        answer = post(keeper_client, "place-edit", room.pk, name="Room", kind="room", order=0, parent=inner.pk)
        assert "does not stand inside this one" in beside(answer, "parent")


def test_an_enclosure_is_entered_and_changed(keeper_client):
    rack = make.place()
    answer = post(keeper_client, "enclosure-new", **BOX, place=rack.pk, length_mm="200", water_dish="on")
    box = Enclosure.objects.get()
    assert (answer.url, box.place, box.length_mm) == (box.get_absolute_url(), rack, 200)
    post(keeper_client, "enclosure-edit", box.pk, **BOX, note="cracked lid")
    assert Enclosure.objects.get().note == "cracked lid"


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("code", "E-7", "There is an enclosure of this code already."),
        ("code", "", "This field is required."),
        ("length_mm", "0", "Write a number from 1 to 5,000."),
        ("substrate_mm", "-1", "Write a number from 0 to 2,000."),
        ("water_days", "0", "Write a number from 1 to 365."),
        ("retired_on", "2026-12-05", "lies in the future"),
    ],
)
def test_particulars_that_cannot_be_are_refused_beside_their_field(keeper_client, field, typed, says):
    make.EnclosureFactory(code="E-7")
    assert says in beside(post(keeper_client, "enclosure-new", **BOX | {field: typed}), field)
    assert Enclosure.objects.count() == 1


def test_an_enclosure_is_not_retired_over_the_head_of_its_animal(keeper_client, animal):
    box = make.housed(animal, "E-1")
    answer = post(keeper_client, "enclosure-edit", box.pk, **BOX, retired_on="2026-12-01")
    assert "B-1 lives in E-1. Move what lives there first." in beside(answer, "retired_on")
    make.died(animal, DAY)
    assert post(keeper_client, "enclosure-edit", box.pk, **BOX, retired_on="2026-12-01").status_code == 302


def test_upkeep_is_logged_for_the_enclosure(keeper_client, animal):
    box = make.housed(animal, "E-1")
    post(keeper_client, "upkeep-new", animal.pk, kind="cleaning", on="2026-11-01")
    done = Upkeep.objects.get()
    assert (done.enclosure, done.kind, done.on) == (box, "cleaning", DAY)
