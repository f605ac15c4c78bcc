"""However often a tap arrives, and in whatever company, it is written once; and undone once."""

import logging
import uuid
from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, OperationalError

from husbandry import services, walks
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


def test_a_tap_that_comes_again_is_answered_as_saved_and_written_no_second_time(walk, animal):
    raw = tap("taken", animal)
    assert [take(walk, raw, raw).saved, take(walk, raw).saved] == [[raw["key"]] * 2, [raw["key"]]]
    assert (Tap.objects.count(), Feeding.objects.count()) == (1, 1)


def test_a_key_is_the_same_in_any_spelling_and_is_answered_as_it_was_sent(walk, animal):
    raw = tap("taken", animal)
    shouted = raw | {"key": raw["key"].upper()}
    assert take(walk, raw, shouted).saved == [raw["key"], shouted["key"]]
    assert Tap.objects.count() == 1


def test_a_tap_that_another_parcel_wrote_a_moment_ago_is_saved(walk, animal, monkeypatch):
    raw = tap("taken", animal)
    take(walk, raw)
    real, looked = Tap.objects.filter, []

    def not_yet(*args, **kwargs):
        looked.append(kwargs)
        return real(*args, **kwargs) if len(looked) > 1 else Tap.objects.none()

    monkeypatch.setattr(Tap.objects, "filter", not_yet)
    assert take(walk, raw).saved == [raw["key"]]
    monkeypatch.undo()
    assert Tap.objects.count() == 1


def test_taps_are_taken_in_their_order_so_that_an_undo_finds_what_it_undoes(walk, animal):
    first, second = tap("taken", animal), tap("water", animal)
    back = tap("undo", animal, undoes=first["key"])
    assert take(walk, first, second, back).saved == [first["key"], second["key"], back["key"]]
    assert (Feeding.objects.count(), Upkeep.objects.count()) == (0, 1)
    assert stored(first).undone_by == stored(back)


def test_a_refused_tap_does_not_hold_up_the_others(walk, animal):
    good, bad, late = tap("water", animal), tap("taken", None), tap("taken", animal)
    answer = take(walk, good, bad, late)
    assert answer.saved == [good["key"], late["key"]]
    assert answer.refused == {bad["key"]: "This animal is not on record here."}


def test_a_tap_that_breaks_the_program_stays_on_the_phone_and_the_others_go_on(walk, animal, monkeypatch, caplog):
    def broken(feeding):
        raise IntegrityError("a constraint that nobody foresaw")

    monkeypatch.setattr(services, "record_feeding", broken)
    bad, good = tap("taken", animal), tap("water", animal)
    with caplog.at_level(logging.ERROR):
        answer = take(walk, bad, good)
    assert (answer.saved, answer.refused) == ([good["key"]], {})
    assert "stays on the phone" in caplog.text
    assert not Tap.objects.filter(key=bad["key"]).exists()


def test_a_database_that_is_busy_is_said_of_the_whole_parcel(walk, animal, monkeypatch):
    def locked(feeding):
        raise OperationalError("database is locked")

    monkeypatch.setattr(services, "record_feeding", locked)
    with pytest.raises(OperationalError):
        take(walk, tap("taken", animal))


def test_an_undo_takes_the_record_away_and_leaves_its_history(walk, animal):
    raw = tap("taken", animal)
    take(walk, raw)
    meal = stored(raw).feeding
    take(walk, tap("undo", animal, undoes=raw["key"]))
    assert not Feeding.objects.exists()
    assert list(Feeding.history.filter(id=meal.pk).values_list("history_type", flat=True)) == ["-", "+"]


def test_an_undo_that_overtakes_its_tap_still_undoes_it(walk, animal):
    raw = tap("taken", animal)
    back = tap("undo", animal, undoes=raw["key"].upper())
    assert take(walk, back).saved == [back["key"]]
    assert take(walk, raw).saved == [raw["key"]]
    assert not Feeding.objects.exists()
    assert stored(raw).undone_by == stored(back)


def test_undoing_twice_undoes_once(walk, animal):
    raw = tap("taken", animal)
    again, twice = (tap("undo", animal, undoes=raw["key"]) for _ in range(2))
    answer = take(walk, raw, again, twice)
    assert answer.refused == {}
    assert stored(raw).undone_by == stored(again)
    assert Feeding.history.filter(history_type="-").count() == 1


def test_an_undo_of_a_tap_that_was_refused_has_nothing_to_take_back(walk, animal):
    bad = tap("taken", None)
    back = tap("undo", undoes=bad["key"])
    answer = take(walk, bad, back)
    assert (answer.saved, list(answer.refused)) == ([back["key"]], [bad["key"]])


def test_a_record_that_was_taken_away_on_its_own_page_leaves_nothing_to_undo(walk, animal):
    raw = tap("taken", animal)
    take(walk, raw)
    Feeding.objects.all().delete()
    back = tap("undo", undoes=raw["key"])
    assert take(walk, back).saved == [back["key"]]


def test_an_undo_reaches_neither_another_walk_nor_another_undo(walk, animal, keeper):
    raw = tap("taken", animal)
    take(walk, raw)
    other = walk_past(make.SpecimenFactory(), by=keeper)
    assert refusals(other, tap("undo", undoes=raw["key"])) == ["That tap belongs to another walk."]
    take(walk, back := tap("undo", undoes=raw["key"]))
    assert refusals(walk, tap("undo", undoes=back["key"])) == ["An undo is not undone; tap again what was done."]


@pytest.mark.parametrize(("minutes", "undone"), [(9, True), (11, False)])
def test_a_helper_can_undo_for_ten_minutes(animal, helper, minutes, undone):
    walk = walk_past(animal, by=helper)
    raw = tap("taken", animal, ago=timedelta(minutes=minutes))
    answer = take(walk, raw, tap("undo", undoes=raw["key"]), by=helper)
    assert Feeding.objects.exists() is not undone
    assert list(answer.refused.values()) == (
        [] if undone else ["A helper can undo for ten minutes. Leave a note for the keeper instead."]
    )


def test_the_keeper_can_undo_at_any_time(walk, animal):
    raw = tap("taken", animal, ago=timedelta(minutes=29))
    assert take(walk, raw, tap("undo", undoes=raw["key"])).refused == {}
    assert not Feeding.objects.exists()


def test_a_walk_that_was_ended_still_takes_what_waits_on_the_phone(walk, animal):
    walk.ended_at = walk.started_at + timedelta(minutes=20)
    walk.save()
    raw = tap("taken", animal)
    assert take(walk, raw).saved == [raw["key"]]


def test_the_summary_counts_what_was_not_undone_and_what_was_used(walk, animal):
    taps = [tap("taken", animal, prey="cricket", mm=10, number=n) for n in (2, 3, 5)]
    take(walk, *taps, tap("undo", undoes=taps[2]["key"]), tap("water", animal), tap("taken", animal))
    summary = walks.summary(walk)
    assert summary.counts == {"taken": 3, "water": 1}
    assert summary.used == [("cricket, 10 mm", 5), ("prey not named", 1)]
    assert (summary.minutes, summary.seen) == (30, {animal.stays.get().enclosure_id})


def test_nothing_is_asked_of_a_key_that_nobody_knows(walk):
    back = tap("undo", undoes=str(uuid.uuid4()))
    assert take(walk, back).saved == [back["key"]]
