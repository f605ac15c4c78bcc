"""One tap from a row: fed, refused, water. The row with its undo for htmx, the page one came from without it."""

import pytest
from django.urls import reverse

from collection.models import Receipt
from husbandry.models import Feeding, Upkeep
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HTMX = {"HX-Request": "true"}
TAPS = [("feed-now", {"outcome": "taken"}), ("feed-now", {"outcome": "refused"}), ("water-now", {})]


@pytest.fixture
def animal():
    specimen = make.SpecimenFactory(code="B-1")
    make.housed(specimen, "E-1")
    return specimen


def tap(client, name, animal, headers=None, **data):
    return client.post(reverse(f"husbandry:{name}", args=[animal.pk]), data, headers=headers)


def written():
    return Feeding.objects.count() + Upkeep.objects.count()


@pytest.mark.parametrize(("name", "data"), TAPS)
def test_by_htmx_the_row_comes_back_done_and_with_its_undo(keeper_client, animal, name, data):
    answer = tap(keeper_client, name, animal, HTMX, back="/?show=over", **data)
    said = answer.content.decode()
    assert (answer.status_code, written()) == (200, 1)
    assert said.lstrip().startswith(f'<li class="need done" id="specimen-{animal.pk}">')
    assert reverse("collection:undo", args=[Receipt.objects.get().pk]) in said
    assert 'value="/?show=over"' in said


@pytest.mark.parametrize(("name", "data"), TAPS)
@pytest.mark.parametrize(
    ("back", "to"),
    [
        ("/?show=over", "/?show=over"),
        ("", "/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
        ("javascript:alert(1)", "/"),
    ],
)
def test_without_htmx_it_leads_back_and_never_out_of_the_house(keeper_client, animal, name, data, back, to):
    answer = tap(keeper_client, name, animal, back=back, **data)
    assert (answer.status_code, answer.url, written()) == (302, to, 1)


def test_a_meal_is_of_today_with_the_prey_of_last_time(keeper_client, animal):
    make.fed(animal, make.TODAY.replace(month=11), prey="roach", prey_mm=20, number=2)
    tap(keeper_client, "feed-now", animal, outcome="taken")
    meal = Feeding.objects.get(on=make.TODAY)
    assert (meal.prey, meal.prey_mm, meal.number, meal.outcome) == ("roach", 20, 2, "taken")


def test_a_first_meal_has_no_prey_to_repeat(keeper_client, animal):
    said = tap(keeper_client, "feed-now", animal, HTMX, outcome="taken").content.decode()
    assert "Took food." in said
    assert (Feeding.objects.get().prey, Feeding.objects.get().number) == ("", 1)


@pytest.mark.parametrize("outcome", ["", "left", "eaten"])
def test_a_tap_says_taken_or_refused(keeper_client, animal, outcome):
    answer = tap(keeper_client, "feed-now", animal, outcome=outcome)
    assert (answer.status_code, written(), Receipt.objects.count()) == (400, 0, 0)


@pytest.mark.parametrize("headers", [None, HTMX])
def test_a_meal_after_the_end_is_refused_in_a_sentence(keeper_client, animal, headers):
    make.died(animal, make.TODAY.replace(day=1))
    answer = tap(keeper_client, "feed-now", animal, headers, outcome="taken")
    assert (answer.status_code, written()) == (422, 0)
    assert "B-1 died on 2026-12-01; this day lies after it." in answer.content.decode()


@pytest.mark.parametrize("headers", [None, HTMX])
def test_water_for_who_stands_nowhere_is_refused_in_a_sentence(keeper_client, headers):
    answer = tap(keeper_client, "water-now", make.SpecimenFactory(code="B-2"), headers)
    assert (answer.status_code, written()) == (422, 0)
    assert "B-2 stands in no enclosure yet. Move it into one first." in answer.content.decode()


def test_what_is_still_due_stays_in_sight_beside_the_undo(keeper_client):
    animal = make.SpecimenFactory()
    make.housed(animal, water_days=3)
    said = tap(keeper_client, "feed-now", animal, HTMX, outcome="taken").content.decode()
    assert "No water on record; rhythm 3." in said


def test_a_helper_taps_as_well_and_the_entry_is_the_helpers(helper_client, helper, animal):
    assert tap(helper_client, "feed-now", animal, HTMX, outcome="taken").status_code == 200
    assert Receipt.objects.get().user == helper
    assert Feeding.history.get().history_user == helper


@pytest.mark.parametrize("name", ["feed-now", "water-now"])
def test_a_tap_is_a_deed_not_a_link(keeper_client, animal, name):
    assert keeper_client.get(reverse(f"husbandry:{name}", args=[animal.pk])).status_code == 405
    assert keeper_client.post(reverse(f"husbandry:{name}", args=[animal.pk + 1])).status_code == 404
