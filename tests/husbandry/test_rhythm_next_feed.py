"""When the next feed is due, whatever was eaten, refused or held."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.stages import Stage
from husbandry.rhythm import Hold, HoldKind, Meal, Outcome, Rhythm, arrival_rest, hardening, next_feed, retry_days

FORTNIGHT = Rhythm(14, "Tarantula, adult: every 7–14 days.")
NOV = [date(2026, 11, 1) + timedelta(days=n) for n in range(60)]
HERE = date(2026, 1, 1)
ATE = Meal(NOV[0], Outcome.TAKEN)

day = st.dates(date(2026, 1, 1), date(2026, 12, 31))
meals = st.lists(st.builds(Meal, day, st.sampled_from(Outcome)), max_size=6)
holds = st.builds(
    lambda kind, begins, length, planned: Hold(
        kind, begins, None if length is None else begins + timedelta(days=length), "Held", planned
    ),
    st.sampled_from(HoldKind),
    day,
    st.none() | st.integers(0, 90),
    st.booleans(),
)
rhythms = st.integers(1, 40).map(lambda days: Rhythm(days, "As the keeper likes.", own=True))


def test_the_next_feed_is_the_last_meal_and_the_rhythm():
    found = next_feed(FORTNIGHT, [ATE, Meal(NOV[0] - timedelta(days=30), Outcome.TAKEN)], [], HERE)
    assert found.due == found.wanted == NOV[14]
    assert found.reason == "Last took food on 1 November 2026; rhythm 14."
    assert (found.last_taken, found.refusals, found.interval, found.hold) == (NOV[0], 0, 14, None)


def test_an_animal_never_fed_is_due_from_its_arrival():
    found = next_feed(FORTNIGHT, [], [], HERE)
    assert found.due == HERE
    assert found.reason == "No meal on record since 1 January 2026; rhythm 14."


def test_an_arrival_rests_before_its_first_meal():
    found = next_feed(FORTNIGHT, [], [arrival_rest(NOV[0])], NOV[0])
    assert found.wanted == NOV[0]
    assert found.due == NOV[4]
    assert found.reason.endswith("Resting after arrival on 1 November 2026, until 5 November 2026.")


@pytest.mark.parametrize("outcome", [Outcome.REFUSED, Outcome.LEFT, Outcome.REMOVED])
def test_what_was_not_taken_is_tried_again_sooner(outcome):
    found = next_feed(FORTNIGHT, [ATE, Meal(NOV[14], outcome)], [], HERE)
    assert found.due == NOV[21]
    assert found.refusals == 1
    assert "Not taken once, last on 15 November 2026" in found.reason


def test_an_early_refusal_does_not_bring_the_feed_forward():
    assert next_feed(FORTNIGHT, [ATE, Meal(NOV[2], Outcome.REFUSED)], [], HERE).due == NOV[14]


def test_refusals_before_the_last_meal_and_on_its_day_are_forgotten():
    earlier = [Meal(HERE, Outcome.REFUSED), Meal(NOV[0], Outcome.REFUSED)]
    found = next_feed(FORTNIGHT, [*earlier, ATE], [], HERE)
    assert (found.refusals, found.due) == (0, NOV[14])


def test_a_mature_male_who_fasts_is_asked_at_his_rhythm():
    refused = [ATE, Meal(NOV[14], Outcome.REFUSED)]
    assert next_feed(FORTNIGHT, refused, [], HERE, mature_male=True).due == NOV[28]


@pytest.mark.parametrize(("interval", "retry"), [(1, 1), (2, 2), (3, 2), (4, 2), (7, 4), (14, 7), (21, 11)])
def test_a_retry_comes_after_half_the_rhythm_but_not_at_once(interval, retry):
    assert retry_days(interval) == retry


def test_a_molt_stops_a_feed_that_was_already_over():
    """Wanted on the 15th, molted on the 18th: nothing is offered until the animal has hardened."""
    molted = hardening(Stage.ADULT, None, NOV[17])
    found = next_feed(FORTNIGHT, [ATE], [molted], HERE)
    assert (found.wanted, found.due, found.hold) == (NOV[14], NOV[31], molted)


def test_a_planned_rest_does_not_eat_the_feeds_before_it():
    winter = Hold(HoldKind.COOLING, NOV[30], NOV[55], "Cooling", planned=True)
    assert next_feed(FORTNIGHT, [ATE], [winter], HERE).due == NOV[14]
    assert next_feed(FORTNIGHT, [Meal(NOV[20], Outcome.TAKEN)], [winter], HERE).due == NOV[55]


def test_holds_that_follow_each_other_are_waited_for_together():
    first = Hold(HoldKind.PREMOLT, NOV[10], NOV[20], "Premolt likely")
    second = Hold(HoldKind.HARDENING, NOV[18], NOV[32], "Hardening")
    third = Hold(HoldKind.OTHER, NOV[32], NOV[35], "Moving house")
    found = next_feed(FORTNIGHT, [ATE], [third, first, second], HERE)
    assert (found.due, found.hold) == (NOV[35], third)


def test_a_hold_without_an_end_stops_the_clock():
    sac = Hold(HoldKind.SAC, NOV[5], None, "Guarding a sac since 6 November 2026")
    found = next_feed(FORTNIGHT, [ATE], [sac], HERE)
    assert (found.due, found.wanted, found.hold) == (None, NOV[14], sac)
    assert found.reason.endswith("Guarding a sac since 6 November 2026, until lifted.")


def test_a_hold_that_is_over_changes_nothing():
    over = Hold(HoldKind.ILLNESS, HERE, NOV[10], "Ill")
    assert next_feed(FORTNIGHT, [ATE], [over], HERE) == next_feed(FORTNIGHT, [ATE], [], HERE)


def test_a_hold_of_no_days_changes_nothing():
    empty = Hold(HoldKind.OTHER, NOV[20], NOV[20], "Put back at once")
    assert next_feed(FORTNIGHT, [ATE], [empty], HERE).due == NOV[14]


def test_an_animal_without_a_rhythm_is_never_due_and_says_so():
    found = next_feed(None, [ATE], [], HERE)
    assert (found.due, found.wanted, found.last_taken) == (None, None, NOV[0])
    assert found.reason.startswith("No feeding rhythm")


def test_an_animal_without_any_date_says_what_is_missing():
    found = next_feed(FORTNIGHT, [], [], None)
    assert found.due is None
    assert "log one to start the clock" in found.reason


@given(rhythms, meals, st.lists(holds, max_size=5), day)
def test_no_feed_is_due_inside_a_hold(rhythm, eaten, held, since):
    due = next_feed(rhythm, eaten, held, since).due
    assert due is None or not any(hold.covers(due) for hold in held)


@given(rhythms, meals, st.lists(holds, max_size=4), holds, day)
def test_one_more_hold_never_makes_a_feed_earlier(rhythm, eaten, held, more, since):
    before, after = next_feed(rhythm, eaten, held, since).due, next_feed(rhythm, eaten, [*held, more], since).due
    assert after is None or (before is not None and after >= before)


@given(rhythms, meals, st.lists(holds, max_size=4), day, st.booleans())
def test_a_feed_is_never_due_before_it_is_wanted_nor_without_a_reason(rhythm, eaten, held, since, mature):
    found = next_feed(rhythm, eaten, held, since, mature_male=mature)
    assert found.wanted is not None
    assert found.reason.endswith(".")
    assert found.due is None or found.due >= found.wanted
    assert (found.due != found.wanted) == (found.hold is not None)


@given(rhythms, meals, st.lists(holds, max_size=4), day, st.randoms(use_true_random=False))
def test_the_order_of_records_does_not_matter(rhythm, eaten, held, since, rng):
    mixed_meals, mixed_holds = eaten.copy(), held.copy()
    rng.shuffle(mixed_meals)
    rng.shuffle(mixed_holds)
    assert next_feed(rhythm, mixed_meals, mixed_holds, since).due == next_feed(rhythm, eaten, held, since).due


@given(st.integers(1, 60))
def test_a_retry_is_never_later_than_the_rhythm(interval):
    assert 1 <= retry_days(interval) <= interval


def test_holds_and_rhythms_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="before it begins"):
        Hold(HoldKind.OTHER, NOV[5], NOV[4], "Backwards")
    with pytest.raises(ValueError, match="at least one day"):
        Rhythm(0, "Never")
