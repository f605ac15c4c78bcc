"""Who can be paired, what is missing, and until when. Figures: the trade (trade facts 6.1) or marked assumptions."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breeding.readiness import FemaleFacts, Held, MaleFacts, State, of_female, of_male
from collection.sexing import Verdict
from collection.stages import Group, Stage

TODAY = date(2026, 12, 4)
SHE = FemaleFacts(
    TODAY, Group.TARANTULA, "Chromatopelma", Verdict.FEMALE, 0.99, Stage.ADULT, date(2026, 6, 1),
    (date(2027, 9, 1), date(2028, 6, 1)), meal=date(2026, 12, 1), water=TODAY, sac_months=(2.0, 5.0), before_molt=0.95,
)  # fmt: skip
HE = MaleFacts(
    TODAY, Group.TARANTULA, "Chromatopelma", Verdict.MALE, 0.999, Stage.MATURE_MALE, date(2026, 9, 1),
    meal=TODAY, water=TODAY, mature_since=date(2026, 9, 1), web=date(2026, 11, 1),
)  # fmt: skip


def ago(days):
    return TODAY - timedelta(days=days)


def named(ready, name):
    return next(one for one in ready.conditions if one.name == name)


def female(**values):
    return of_female(replace(SHE, **values))


def male(**values):
    return of_male(replace(HE, **values))


def test_a_female_with_everything_is_ready_until_her_molt_comes_too_near():
    ready = female()
    assert (ready.state, ready.lacking, ready.ready_from) == (State.MET, [], TODAY)
    assert ready.ends == date(2027, 9, 1) - timedelta(days=152)  # five months of 30.4375 days before her window
    assert ready.sentence == "Ready; time until 2 April 2027."


def test_what_is_advice_does_not_make_her_unfit_but_is_said():
    assert female(meal=ago(8)).sentence.endswith("to see to: fed.")
    assert female(meal=ago(8)).state is State.MET


@pytest.mark.parametrize(("days", "state"), [(0, State.MET), (7, State.MET), (8, State.MISSING)])
def test_fed_within_a_week(days, state):
    assert named(female(meal=ago(days)), "fed").state is state


@pytest.mark.parametrize(
    ("values", "name", "state"),
    [
        ({"sex": Verdict.UNSEXED, "chance": 0.5}, "sex", State.MISSING),
        ({"stage": Stage.UNKNOWN}, "maturity", State.UNKNOWN),
        ({"stage": Stage.SUBADULT}, "maturity", State.MISSING),
        ({"last_molt": None}, "last molt", State.UNKNOWN),
        ({"molt": None}, "time before her molt", State.UNKNOWN),
        ({"before_molt": 0.2}, "time before her molt", State.MISSING),
        ({"sac_months": None}, "time before her molt", State.UNKNOWN),
        ({"paired": ago(10)}, "not paired yet", State.MET),
        ({"paired": ago(29)}, "not paired yet", State.MISSING),
        ({"lent": True}, "here", State.MISSING),
        ({"meal": None}, "fed", State.UNKNOWN),
        ({"water": None}, "water", State.UNKNOWN),
        ({"water": ago(8)}, "water", State.MISSING),
    ],
)
def test_each_condition_of_a_female_can_fail(values, name, state):
    assert named(female(**values), name).state is state


def test_a_hold_with_an_end_is_a_wait_and_one_without_is_in_the_way():
    until = TODAY + timedelta(days=5)
    waits = female(held=(Held("hardening after the molt", until),))
    assert (waits.state, waits.ready_from) == (State.WAIT, until)
    assert waits.sentence.startswith("Ready from 9 December")
    assert female(held=(Held("ill", None),)).state is State.MISSING


def test_late_in_her_cycle_is_said_with_its_chance_and_no_last_day():
    late = female(molt=(date(2027, 3, 1), date(2027, 12, 1)), before_molt=0.6)
    assert "late in her cycle, 60 %" in named(late, "time before her molt").sentence
    assert late.ends is None


@pytest.mark.parametrize(
    ("cooled", "state"),
    [
        (None, State.MISSING),
        ((ago(500), ago(400)), State.MISSING),
        ((ago(100), ago(30)), State.MET),
        ((ago(10), None), State.WAIT),
        ((TODAY + timedelta(days=5), TODAY + timedelta(days=60)), State.WAIT),
    ],
)
def test_a_genus_that_rests_in_winter_is_asked_for_its_cooling(cooled, state):
    season = named(female(genus="Grammostola", cooled=cooled), "season")
    assert (season.state, season.needed) == (state, False)
    assert "12 to 18 °C" in season.sentence


def test_a_genus_without_a_cue_is_asked_for_none_and_a_dry_rest_is_never_called_met():
    assert [one.name for one in female().conditions if one.name == "season"] == []
    assert named(female(genus="Poecilotheria"), "season").state is State.UNKNOWN


@pytest.mark.parametrize(
    ("since", "web", "state"),
    [(13, None, State.WAIT), (13, 2, State.MET), (14, None, State.MET), (200, 20, State.MET), (305, 1, State.MISSING)],
)
def test_a_male_rests_two_weeks_or_until_his_first_web_and_is_spent_after_ten_months(since, web, state):
    ready = male(mature_since=ago(since), last_molt=ago(since), web=ago(web) if web else None)
    assert ready.state is state


@pytest.mark.parametrize(("since", "left"), [(30, 183 - 30), (183, 0), (184, 304 - 184), (304, 0)])
def test_how_long_he_still_has(since, left):
    assert male(mature_since=ago(since)).ends == TODAY + timedelta(days=left)


def test_a_web_from_before_his_last_meeting_no_longer_charges_him():
    assert named(male(), "sperm web").state is State.MET
    assert named(male(met=ago(3)), "sperm web").state is State.MISSING
    assert named(male(web=None), "sperm web").state is State.UNKNOWN


def test_who_is_not_mature_yet_is_asked_for_no_web_and_told_when_he_may_be():
    young = male(stage=Stage.SUBADULT, mature_since=None, molt=(date(2027, 2, 1), date(2027, 5, 1)))
    assert {one.name for one in young.conditions} == {"sex", "maturity", "fed", "water"}
    assert "falls between 1 February 2027 and 1 May 2027" in named(young, "maturity").sentence


@pytest.mark.parametrize("group", [Group.SCORPION, Group.MANTIS, Group.STICK_INSECT])
def test_nothing_of_tarantulas_is_asked_of_other_groups(group):
    names = {one.name for one in of_male(replace(HE, group=group, stage=Stage.ADULT)).conditions}
    assert names == {"sex", "maturity", "fed", "water"}
    assert of_male(replace(HE, group=group, stage=Stage.ADULT)).state is State.MET


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"chance": 1.2}, "between 0 and 1"),
        ({"molt": (TODAY, ago(1))}, "ends before it begins"),
        ({"meal": TODAY + timedelta(days=1)}, "lies after the day"),
    ],
)
def test_what_cannot_be_is_refused(values, words):
    with pytest.raises(ValueError, match=words):
        replace(SHE, **values)


@given(
    st.sampled_from(Stage),
    st.none() | st.integers(0, 900),
    st.none() | st.integers(0, 900),
    st.none() | st.floats(0, 1),
)
def test_a_missing_record_never_counts_as_met(stage, molted, meal, chance):
    ready = female(
        stage=stage,
        last_molt=None if molted is None else ago(molted),
        meal=None if meal is None else ago(meal),
        before_molt=chance,
    )
    met = {one.name for one in ready.met}
    assert meal is not None or "fed" not in met
    assert molted is not None or "last molt" not in met
    assert chance is not None or "time before her molt" not in met
    assert (ready.state is State.MET) == all(one.state is State.MET for one in ready.conditions if one.needed)
