"""Which of several rhythms is followed, fattening, and the feeds of the coming weeks."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Stage
from husbandry.rhythm import Hold, HoldKind, Rhythm
from husbandry.rhythm_choice import (
    Influence,
    InfluenceKind,
    Own,
    Scope,
    choose,
    coming,
    fatten,
    in_season,
    say_influence,
    say_season,
)

DAY = date(2026, 11, 20)
USUAL = Rhythm(14, "Tarantula, adult.")
ANIMAL = Own(Scope.ANIMAL, 10, DAY)
SHELF = Own(Scope.PLACE, 11, DAY, "Shelf 1", near=12)
RACK = Own(Scope.PLACE, 12, DAY, "Rack A", near=8)
TAXON = Own(Scope.TAXON, 13, DAY, "Fictor unus")


def days(*own, stage=Stage.ADULT, day=DAY):
    found = choose(own, USUAL, stage, day)
    return found.days if found else None


def test_the_animals_own_goes_first_then_its_shelf_its_rack_its_taxon_and_the_usual():
    assert days(TAXON, RACK, SHELF, ANIMAL) == days(ANIMAL, SHELF, RACK, TAXON) == 10
    assert days(TAXON, RACK, SHELF) == days(SHELF, RACK, TAXON) == 11
    assert days(TAXON, RACK) == 12
    assert days(TAXON) == 13
    assert days() == 14


def test_the_reason_and_the_clock_say_whose_rhythm_it_is():
    assert choose([RACK], USUAL, Stage.ADULT, DAY) == Rhythm(12, "rhythm of Rack A, 12 days", False, "rhythm of Rack A")
    own = choose([Own(Scope.ANIMAL, 9, DAY, reason="shy")], USUAL, Stage.ADULT, DAY)
    assert (own.reason, own.clock, own.own) == ("shy", "own rhythm 9", True)


def test_one_for_a_stage_is_for_that_stage_alone_and_goes_before_one_for_all():
    young = Own(Scope.TAXON, 4, DAY, "Fictor unus", stage=Stage.YOUNG)
    assert days(young, TAXON) == 13
    assert days(young, TAXON, stage=Stage.YOUNG) == 4
    assert days(young) == 14


def test_a_season_is_followed_after_meals_in_its_months():
    winter = Own(Scope.ANIMAL, 28, DAY, months=(11, 2))
    assert [days(ANIMAL, winter, day=date(2026, month, 15)) for month in (10, 11, 1, 2, 3)] == [10, 28, 28, 28, 10]
    assert "November to February" in choose([winter], USUAL, Stage.ADULT, DAY).reason


def test_the_later_of_two_and_no_days_at_all():
    later = Own(Scope.ANIMAL, 21, DAY + timedelta(days=1))
    assert days(later, ANIMAL) == 21
    assert days(TAXON, Own(Scope.ANIMAL, 0, DAY)) is None


@pytest.mark.parametrize(("months", "said"), [(None, ""), ((6, 6), "June"), ((11, 2), "November to February")])
def test_a_season_in_words(months, said):
    assert say_season(months) == said


@given(st.integers(1, 12), st.integers(1, 12), st.dates())
def test_a_season_and_the_rest_of_the_year_are_the_year(first, last, day):
    rest = (last % 12 + 1, (first - 2) % 12 + 1)
    whole = (last - first) % 12 == 11
    assert in_season((first, last), day) != in_season(rest, day) or whole


@pytest.mark.parametrize("wrong", [{"days": -1}, {"days": 7, "months": (0, 3)}, {"days": 7, "months": (1, 13)}])
def test_what_no_calendar_has_is_refused(wrong):
    with pytest.raises(ValueError, match=r"month|zero days"):
        Own(Scope.ANIMAL, since=DAY, **wrong)


def fattening(begins, ends=None):
    return Influence(InfluenceKind.FATTENING, begins, ends, "Fattening for the pairing planned on 1 January")


def test_fattening_halves_the_rhythm_and_says_what_it_was():
    fed = fatten(USUAL, [fattening(DAY - timedelta(days=5))], DAY, refused=False)
    assert (fed.days, fed.clock) == (7, "fattening, 7 days")
    assert fed.reason == "Fattening for the pairing planned on 1 January; otherwise 14 days: Tarantula, adult."


def test_fattening_that_begins_between_two_meals_brings_the_next_forward_to_its_first_day():
    assert fatten(USUAL, [fattening(DAY + timedelta(days=10))], DAY, refused=False).days == 10
    assert fatten(USUAL, [fattening(DAY + timedelta(days=30))], DAY, refused=False) is USUAL


def test_fattening_ends_with_its_time_with_a_refusal_and_never_moves_an_own_rhythm():
    running = fattening(DAY - timedelta(days=60), DAY + timedelta(days=3))
    assert fatten(USUAL, [running], DAY, refused=False) is USUAL
    open_ended = fattening(DAY - timedelta(days=5))
    assert fatten(USUAL, [open_ended], DAY, refused=True) is USUAL
    own = Rhythm(14, "shy", own=True)
    assert fatten(own, [open_ended], DAY, refused=False) is own
    assert fatten(None, [open_ended], DAY, refused=False) is None
    gravid = Influence(InfluenceKind.GRAVID, DAY, None, "May be gravid")
    assert fatten(USUAL, [gravid], DAY, refused=False) is USUAL


@given(st.integers(1, 60), st.integers(-60, 60), st.integers(0, 90))
def test_fattening_never_makes_a_rhythm_longer_nor_less_than_a_day(every, begins, length):
    first = DAY + timedelta(days=begins)
    found = fatten(Rhythm(every, "usual"), [fattening(first, first + timedelta(days=length))], DAY, refused=False)
    assert 1 <= found.days <= every


def test_an_influence_in_words():
    assert say_influence(fattening(DAY, DAY + timedelta(days=3)), DAY) == (
        "Fattening for the pairing planned on 1 January, since 20 November, until 23 November"
    )


def test_the_coming_feeds_follow_the_rhythm_around_a_rest():
    rest = Hold(HoldKind.COOLING, DAY + timedelta(days=20), DAY + timedelta(days=40), "winter")
    found = coming(DAY - timedelta(days=3), USUAL, [rest], DAY, DAY + timedelta(days=56))
    assert [(day - DAY).days for day in found] == [0, 14, 40, 54]


def test_without_a_rhythm_or_a_next_feed_nothing_comes():
    until = DAY + timedelta(days=56)
    assert coming(None, USUAL, [], DAY, until) == coming(DAY, None, [], DAY, until) == []
    forever = Hold(HoldKind.SAC, DAY + timedelta(days=5), None, "sac")
    assert coming(DAY, USUAL, [forever], DAY, until) == [DAY]
