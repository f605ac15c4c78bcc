"""What one tap becomes: its record, its history, and the day it counts for. What is no proper tap is refused."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from collection.models import Due, Note
from husbandry import cards, walks
from husbandry.models import Feeding, Tap, Upkeep
from tests import factories as make
from tests.husbandry.walking import refusals, stored, take, tap, walk_past

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _still():
    with time_machine.travel(make.NOW, tick=False):
        yield


@pytest.fixture
def animal():
    return make.SpecimenFactory(code="B-1")


@pytest.fixture
def walk(animal, keeper):
    return walk_past(animal, by=keeper)


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        ("taken", "This is not a tap."),
        ({"kind": "taken"}, "The tap has no proper key."),
        ({"key": "17"}, "The tap has no proper key."),
        ({"key": ["a"]}, "The tap has no proper key."),
    ],
)
def test_what_is_no_tap_is_refused(walk, raw, sentence):
    assert refusals(walk, raw) == [sentence]


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"kind": "eaten"}, "This kind of tap is not known here. Load the page anew."),
        ({"kind": None}, "This kind of tap is not known here. Load the page anew."),
        ({"kind": ["taken"]}, "This kind of tap is not known here. Load the page anew."),
        ({"at": None}, "The tap has no proper time."),
        ({"at": 1796373600}, "The tap has no proper time."),
        ({"at": "2026-12-04T09:00:00"}, "The tap has no proper time."),
        ({"at": "2026-13-45T09:00:00Z"}, "The tap has no proper time."),
        ({"at": "0001-01-01T00:00:00Z"}, "The tap has no proper time."),
        ({"at": "9999-12-31T23:59:59Z"}, "The tap has no proper time."),
        ({"specimen": None}, "This animal is not on record here."),
        ({"specimen": True}, "This animal is not on record here."),
        ({"specimen": 2**63}, "This animal is not on record here."),
        ({"specimen": 999_999}, "This animal is not on record here."),
        ({"kind": "not_offered"}, "Say why it was not offered."),
        ({"kind": "not_offered", "reason": "lazy"}, "Say why it was not offered."),
        ({"kind": "not_offered", "reason": "full", "specimen": None}, "This animal is not on record here."),
        ({"kind": "water", "enclosure": None}, "This enclosure is not on record here."),
        ({"kind": "water", "enclosure": "1"}, "This enclosure is not on record here."),
        ({"kind": "note"}, "The note is empty."),
        ({"kind": "note", "text": " \x00\n"}, "The note is empty."),
        ({"kind": "note", "text": "mites", "specimen": None}, "This animal is not on record here."),
        ({"kind": "undo"}, "It is not said which tap to undo."),
        ({"kind": "undo", "undoes": "17"}, "It is not said which tap to undo."),
    ],
)
def test_a_tap_that_says_too_little_is_refused_with_a_sentence(walk, animal, wrong, sentence):
    assert refusals(walk, tap("taken", animal) | wrong) == [sentence]
    assert not Tap.objects.exists()
    assert not Feeding.objects.exists()


def test_food_taken_becomes_a_meal_with_what_was_fed_and_moves_the_next_feed(walk, animal):
    make.fed(animal, date(2026, 11, 1))
    before = Due.objects.get(specimen=animal, kind="feed").due_on
    raw = tap("taken", animal, prey="roach nymph", mm=15, number=2)
    assert take(walk, raw).saved == [raw["key"]]
    meal = stored(raw).feeding
    assert (meal.outcome, meal.on, meal.prey, meal.prey_mm, meal.number) == (
        "taken",
        make.TODAY,
        "roach nymph",
        15.0,
        2,
    )
    assert meal.history.count() == 1
    assert Due.objects.get(specimen=animal, kind="feed").due_on > before


def test_a_refusal_is_an_offer_that_was_not_taken(walk, animal):
    raw = tap("refused", animal, prey="cricket", mm=10, number=1)
    take(walk, raw)
    assert stored(raw).feeding.outcome == "refused"


def test_what_was_not_offered_is_no_offer_and_keeps_its_reason(walk, animal):
    raw = tap("not_offered", animal, reason="premolt")
    take(walk, raw)
    assert not Feeding.objects.exists()
    assert stored(raw).said == "premolt"


def test_water_is_done_for_the_enclosure_and_for_all_who_live_there(walk, animal):
    mate = make.SpecimenFactory()
    enclosure = animal.stays.get().enclosure
    enclosure.water_days = 4
    enclosure.save()
    make.husbandry.move(mate, enclosure, date(2026, 1, 1), companion=True)
    take(walk, raw := tap("water", animal))
    assert stored(raw).upkeep.history.count() == 1
    due = Due.objects.filter(kind="water").values_list("specimen", "due_on")
    assert dict(due) == {pk: make.TODAY + timedelta(days=4) for pk in (animal.pk, mate.pk)}
    take(walk, tap("undo", undoes=raw["key"]))
    assert not Upkeep.objects.exists()
    assert {day for _, day in Due.objects.filter(kind="water").values_list("specimen", "due_on")} != {
        make.TODAY + timedelta(days=4)
    }


def test_something_wrong_becomes_a_note_of_that_day(walk, animal):
    raw = tap("note", animal, text=" mites at the dish\x00 \ud83d")
    take(walk, raw)
    note = stored(raw).note
    assert (note.text, note.earliest, note.latest) == ("mites at the dish ?", make.TODAY, make.TODAY)
    assert note.history.count() == 1


@pytest.mark.parametrize(
    ("sent", "number", "mm"),
    [
        ({"number": 0.5, "mm": -3}, 1, None),
        ({"number": "many", "mm": "big"}, 1, None),
        ({"number": -2, "mm": float("nan")}, 1, None),
        ({"number": True, "mm": 1000}, 1, None),
        ({"number": 999, "mm": 12.5}, 999, 12.5),
        ({"prey": {"a": 1}}, 1, None),
    ],
)
def test_odd_numbers_are_left_out_rather_than_losing_the_meal(walk, animal, sent, number, mm):
    take(walk, raw := tap("taken", animal, **sent))
    meal = stored(raw).feeding
    assert (meal.number, meal.prey_mm) == (number, mm)


def test_what_was_fed_although_on_hold_says_so(walk, animal):
    take(walk, raw := tap("taken", animal, on_hold="yes", prey="roach", mm=15, number=2))
    assert stored(raw).detail["on_hold"] is True
    assert stored(raw).said == "roach, 15 mm, 2"
    assert str(stored(raw)) == "taken B-1"


def test_long_words_are_cut_to_what_the_record_holds(walk, animal):
    take(walk, fed := tap("taken", animal, prey="x" * 500), wrong := tap("note", animal, text="y" * 5000))
    assert len(stored(fed).feeding.prey) == 40
    assert len(Note.objects.get().text) == len(stored(wrong).detail["text"]) == 2000


@pytest.mark.parametrize("kind", ["taken", "refused", "not_offered"])
def test_an_animal_that_died_or_left_meanwhile_is_refused_and_nothing_is_written(walk, animal, kind):
    make.died(animal, make.TODAY - timedelta(days=1))
    assert refusals(walk, tap(kind, animal, reason="full")) == ["B-1 died on 2026-12-03; this day lies after it."]
    gone = make.SpecimenFactory(code="B-2")
    make.left(gone, make.TODAY - timedelta(days=2))
    assert refusals(walk, tap(kind, gone, reason="full")) == [
        "B-2 was passed on on 2026-12-02; this day lies after it."
    ]
    assert not Tap.objects.exists()


def test_once_the_record_is_put_right_the_same_tap_is_saved(walk, animal):
    death = make.died(animal, make.TODAY - timedelta(days=1))
    raw = tap("taken", animal)
    assert take(walk, raw).refused
    death.delete()
    assert take(walk, raw).saved == [raw["key"]]


def test_a_meal_of_a_walk_can_be_corrected_on_its_page(walk, animal, keeper_client):
    take(walk, tap("taken", animal, prey="cricket", number=1))
    meal = Feeding.objects.get()
    form = {"outcome": "refused", "prey": "roach", "number": "2", "on": str(meal.on)}
    keeper_client.post(reverse("husbandry:feed-edit", args=[animal.pk, meal.pk]), form)
    meal.refresh_from_db()
    assert (meal.outcome, meal.prey, meal.number) == ("refused", "roach", 2)


def test_a_meal_that_waited_on_the_phone_stands_in_the_books_at_its_own_moment(walk, animal):
    take(walk, tap("taken", animal, prey="cricket", ago=timedelta(minutes=20)))
    assert Feeding.objects.get().logged_at == timezone.now() - timedelta(minutes=20)


def test_the_phone_sends_all_that_the_house_reads_of_a_tap():
    """What is not in the list of the script never arrives: rounds of upkeep were refused for it."""
    script = (settings.BASE_DIR / "static" / "walk" / "outbox.js").read_text()
    sent = set(re.findall(r'"(\w+)"', re.search(r"const SENT = \[(.*?)\];", script)[1]))
    assert {"key", "kind", "enclosure", "specimen", "at", "lead", *walks.DETAILS} - sent == set()


def left_in_yesterday(animal):
    return make.fed(animal, make.TODAY - timedelta(days=1), "left", prey="cricket", prey_mm=10)


def test_prey_that_is_left_in_counts_as_an_offer_and_makes_a_stop_of_tomorrows_walk(walk, animal):
    take(walk, tap("left", animal, prey="cricket", mm=10, number=2))
    assert Feeding.objects.get().outcome == "left"
    assert walks.summary(walk).used == [("cricket, 10 mm", 2)]
    tomorrow = make.TODAY + timedelta(days=1)
    assert [left.specimen for left in cards.left_in(tomorrow)] == [animal]
    assert not cards.left_in(make.TODAY)
    assert cards.enclosures(None, True, tomorrow).count() == 1


@pytest.mark.parametrize(("kind", "outcome"), [("ate", "taken"), ("removed", "removed")])
def test_what_was_left_in_is_eaten_or_taken_out_and_that_can_be_undone(walk, animal, kind, outcome):
    left_in_yesterday(animal)
    said = cards.payload(walk.stops, make.TODAY)["stops"][0][4][0]
    assert (said[11], said[5][0][1]) == (True, "left in")
    assert said[5][0][2].startswith("Cricket left in on 3 December. What is not eaten comes out within a day")
    done = tap(kind, animal)
    take(walk, done)
    assert Feeding.objects.get().outcome == outcome
    assert cards.payload(walk.stops, make.TODAY)["stops"][0][4][0][11] is False
    take(walk, tap("undo", animal, undoes=done["key"]))
    assert Feeding.objects.get().outcome == "left"


def test_where_nothing_is_left_in_nothing_is_settled(walk, animal):
    left_in_yesterday(animal)
    make.fed(animal, make.TODAY, "taken")
    assert refusals(walk, tap("removed", animal)) == ["Nothing is on record as left in with this animal."]
