"""The one sentence of a feeding row."""

from datetime import date

import pytest

from collection.stages import Stage
from husbandry.rhythm import Hold, HoldKind, arrival_rest, hardening, say_feed

TODAY = date(2026, 11, 20)
MOLT = hardening(Stage.ADULT, None, date(2026, 11, 10))


def said(**facts):
    usual = {
        "last_taken": None, "interval": 14, "refusals": 0, "hold": None, "due": TODAY, "in_house_since": None,
        "today": TODAY, "own": False,
    }  # fmt: skip
    return say_feed(**{**usual, **facts})


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"last_taken": date(2026, 11, 1)}, "Last took food 19 days ago; rhythm 14."),
        ({"last_taken": date(2026, 11, 19), "own": True}, "Last took food yesterday; own rhythm 14."),
        ({"last_taken": TODAY, "interval": None}, "Last took food today; no feeding rhythm."),
        ({"in_house_since": date(2026, 10, 11)}, "No meal on record since arrival 40 days ago; rhythm 14."),
        ({"interval": 7}, "No meal on record; rhythm 7."),
    ],
)
def test_the_last_meal_is_said_with_the_rhythm(facts, sentence):
    assert said(**facts) == sentence


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"refusals": 2, "last_taken": date(2026, 11, 2)}, "Refused twice since 2 November; try again."),
        ({"refusals": 3, "last_taken": date(2025, 12, 24)}, "Refused 3 times since 24 December 2025; try again."),
        ({"refusals": 1, "in_house_since": date(2026, 11, 2), "due": date(2026, 11, 25)},
         "Refused once since 2 November; next try 25 November."),
        ({"refusals": 1, "due": None}, "Refused once."),
    ],
)  # fmt: skip
def test_refusals_are_said_with_the_next_try(facts, sentence):
    assert said(**facts) == sentence


@pytest.mark.parametrize(
    ("hold", "sentence"),
    [
        (MOLT, "Hardening after the molt of 10 November, until 24 November."),
        (arrival_rest(date(2026, 11, 18)), "Resting after arrival on 18 November, until 22 November."),
        (Hold(HoldKind.SAC, date(2026, 10, 3), None, ""), "Guarding a sac since 3 October, until lifted."),
        (Hold(HoldKind.OTHER, TODAY, None, "On loan for photographs"), "On loan for photographs, until lifted."),
        (Hold(HoldKind.COOLING, date(2025, 12, 1), date(2027, 2, 1), ""),
         "Cooling since 1 December 2025, until 1 February 2027."),
    ],
)  # fmt: skip
def test_a_hold_in_force_is_said_first(hold, sentence):
    assert said(hold=hold, refusals=2, last_taken=date(2026, 11, 2)) == sentence


@pytest.mark.parametrize("today", [date(2026, 11, 9), date(2026, 11, 24)])
def test_a_hold_not_in_force_is_not_said(today):
    assert said(hold=MOLT, last_taken=date(2026, 11, 2), today=today).startswith("Last took food")


@pytest.mark.parametrize("kind", HoldKind)
def test_every_kind_of_hold_has_its_words(kind):
    assert said(hold=Hold(kind, TODAY, None, "Kept back")).endswith(", until lifted.")
