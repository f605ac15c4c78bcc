"""From taps to a meeting: what was seen, what nobody can say, and what to do next."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breeding.livelog import ENDINGS, Seen, Tapped, after, record, signs
from breeding.models import Meeting, MeetingTap
from collection.stages import Group

BEGAN = datetime(2026, 12, 4, 21, 0, tzinfo=UTC)


def taps(*kinds, ending="peace"):
    told = [Tapped(Seen(kind), BEGAN + timedelta(minutes=n)) for n, kind in enumerate(("begin", *kinds))]
    return [*told, Tapped(Seen.END, BEGAN + timedelta(hours=1), ending)]


def test_a_meeting_is_counted_from_its_taps():
    told = record(taps("drum_him", "drum_him", "left", "right", "left", "parted"), Group.TARANTULA)
    assert (told.begins, told.ends) == (BEGAN, BEGAN + timedelta(hours=1))
    assert (told.left, told.right, told.drumming, told.ending) == (2, 1, True, "peace")
    assert told.note == "he drums 2 times"


def test_while_it_runs_there_is_no_meeting():
    assert record(taps("left")[:-1], Group.TARANTULA) is None


def test_who_watched_to_the_end_and_saw_none_saw_none():
    told = record(taps(), Group.TARANTULA)
    assert (told.left, told.right, told.drumming) == (0, 0, False)


@pytest.mark.parametrize("ending", ["left", "unknown"])
def test_who_did_not_watch_them_part_cannot_say(ending):
    told = record(taps(ending=ending), Group.TARANTULA)
    assert (told.left, told.right, told.drumming) == (None, None, None)
    assert record(taps("left", ending=ending), Group.TARANTULA).left == 1


def test_a_lost_male_is_lost_whatever_else_was_said():
    assert record(taps("male_lost", ending="attack"), Group.TARANTULA).ending == "male_lost"


def test_of_other_groups_insertions_on_two_sides_are_not_told():
    told = record(taps("coupled"), Group.MANTIS)
    assert (told.left, told.right, told.drumming, told.note) == (1, None, None, "")
    assert record(taps(), Group.SCORPION).left == 0
    assert record(taps(ending="left"), Group.SCORPION).left is None
    offered = {seen for row in signs(Group.MANTIS) for seen in row}
    assert offered & {Seen.DRUM_HIM, Seen.LEFT, Seen.RIGHT, Seen.LIFTED} == set()


def test_an_ending_that_is_not_known_is_refused():
    with pytest.raises(ValueError, match="how the meeting ended"):
        record(taps(ending="rain"), Group.TARANTULA)


@given(st.permutations(taps("left", "drum_her", "right", "attack")))
def test_the_order_in_which_taps_arrive_changes_nothing(shuffled):
    assert record(shuffled, Group.TARANTULA) == record(taps("left", "drum_her", "right", "attack"), Group.TARANTULA)


@pytest.mark.parametrize(
    ("ending", "insertions", "words"),
    [
        ("peace", 3, "One or two more meetings, one to four weeks apart"),
        ("peace", 0, "No insertion was seen. Try again"),
        ("peace", None, "Nobody can say whether it worked"),
        ("attack", 0, "Look at both for wounds"),
        ("male_lost", 0, "Another male is needed"),
        ("male_lost", 2, "Log his death"),
        ("left", None, "look in often"),
    ],
)
def test_what_to_do_next(ending, insertions, words):
    assert words in " ".join(after(ending, insertions, Group.TARANTULA))


def test_nobody_is_told_to_log_a_death_twice_nor_to_pair_a_dead_male_again():
    said = " ".join(after("male_lost", 2, Group.TARANTULA, logged=True))
    assert "death" not in said
    assert "more meetings" not in said
    assert "web" not in " ".join(after("peace", None, Group.MANTIS))


def test_the_stored_kinds_are_those_of_the_log():
    assert [(kind.value, kind.label) for kind in MeetingTap.Kind][:-1] == [(seen.value, seen.label) for seen in Seen]
    assert set(ENDINGS) == set(Meeting.Ending.values)
