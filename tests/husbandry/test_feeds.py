"""When an animal is asked to be fed, by hand: each case with the sentence that the keeper reads on 4 December 2026."""

from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection import attention, dues
from collection.models import Measurement, MoltSign
from collection.services import record_return, write
from husbandry.models import FeedRhythm
from husbandry.services import set_rhythm
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY = make.TODAY


def sized(animal, leg_span_mm, day=date(2025, 6, 1)):
    write(Measurement(specimen=animal, earliest=day, latest=day, leg_span_mm=leg_span_mm), [animal], "measured")
    return make.fresh(animal)


def adult(**values):
    """Fully grown, so fed every 14 days."""
    return sized(make.SpecimenFactory(**values), 150)


def due(animal, kind="feed"):
    return animal.dues.filter(kind=kind).first()


def says(animal, kind="feed", today=TODAY):
    """Urgency, plate and sentence of one due on a day."""
    said = attention.due_kinds[kind].say(dues.as_stored(due(animal, kind)), today)
    return said.urgency.value, said.plate, said.sentence


def test_the_last_meal_and_the_usual_rhythm_make_it_overdue():
    animal = adult()
    make.fed(animal, date(2026, 11, 15))
    assert due(animal).due_on == date(2026, 11, 29)
    assert says(animal) == ("over", "5 days over", "Last took food 19 days ago; rhythm 14.")


def test_on_the_day_itself_it_is_due_today_and_one_day_later_one_day_over():
    animal = adult()
    make.fed(animal, date(2026, 11, 20))
    assert says(animal)[:2] == ("due", "due today")
    assert says(animal, today=date(2026, 12, 5))[:2] == ("over", "1 day over")


def test_the_latest_meal_counts_in_whatever_order_they_were_entered():
    animal = adult()
    for day in (date(2026, 11, 25), date(2026, 10, 1)):
        make.fed(animal, day)
    assert due(animal).due_on == date(2026, 12, 9)


def test_the_keepers_own_rhythm_goes_before_the_usual_one():
    animal = adult()
    make.fed(animal, date(2026, 11, 15))
    set_rhythm(FeedRhythm(specimen=animal, since=date(2026, 11, 1), days=10))
    assert says(animal) == ("over", "9 days over", "Last took food 19 days ago; own rhythm 10.")


def test_a_second_rhythm_of_one_day_replaces_the_first_and_a_later_one_follows():
    animal = adult()
    make.fed(animal, date(2026, 11, 15))
    for days in (10, 12):
        set_rhythm(FeedRhythm(specimen=animal, since=date(2026, 11, 1), days=days))
    assert (animal.feed_rhythms.count(), due(animal).facts["interval"]) == (1, 12)
    set_rhythm(FeedRhythm(specimen=animal, since=date(2026, 11, 20), days=30))
    assert (animal.feed_rhythms.count(), due(animal).facts["interval"]) == (2, 30)


def test_a_rhythm_of_no_days_asks_for_nothing():
    animal = adult()
    set_rhythm(FeedRhythm(specimen=animal, since=date(2026, 11, 1), days=0))
    assert due(animal) is None


def test_a_refusal_is_tried_again_sooner():
    animal = adult()
    make.fed(animal, date(2026, 11, 15))
    make.fed(animal, date(2026, 11, 29), "refused")
    assert due(animal).due_on == date(2026, 12, 6)
    assert says(animal) == ("held", "held", "Refused once since 15 November; next try 6 December.")
    assert says(animal, today=date(2026, 12, 6)) == (
        "due",
        "due today",
        "Refused once since 15 November; try again.",
    )


@pytest.mark.parametrize("outcome", ["refused", "left", "removed"])
def test_whatever_was_not_taken_counts_as_an_offer_not_a_meal(outcome):
    animal = adult()
    make.fed(animal, date(2026, 11, 1), outcome)
    assert due(animal).facts["last"] is None
    assert due(animal).facts["refusals"] == 1


def test_a_meal_taken_ends_the_refusals():
    animal = adult()
    make.fed(animal, date(2026, 11, 1), "refused")
    make.fed(animal, date(2026, 11, 8))
    assert due(animal).facts["refusals"] == 0


def test_a_mature_male_is_offered_less_after_a_refusal_and_more_water():
    animal = make.male(date(2026, 3, 1))
    make.fed(animal, date(2026, 11, 20))
    assert due(animal).due_on == date(2026, 11, 27)
    make.fed(animal, date(2026, 11, 27), "refused")
    assert due(animal).due_on == TODAY


def test_a_communal_group_is_fed_once_a_week():
    group = make.SpecimenFactory(kind="group")
    make.fed(group, date(2026, 11, 20))
    assert says(group) == ("over", "7 days over", "Last took food 14 days ago; rhythm 7.")


def test_a_culture_is_not_asked_for():
    assert due(make.SpecimenFactory(kind="culture")) is None


@pytest.mark.parametrize("group", ["isopod", "millipede", "stick_insect", "other"])
def test_who_grazes_is_not_asked_for(group):
    assert due(make.SpecimenFactory(taxon__group=group)) is None


def test_never_fed_since_arrival_counts_from_the_end_of_its_rest():
    arrived = date(2026, 11, 24)
    animal = adult(
        acquired_earliest=arrived, acquired_latest=arrived, entered_at=datetime(2026, 11, 24, 12, tzinfo=UTC)
    )
    assert due(animal).due_on == date(2026, 11, 28)
    assert says(animal) == ("over", "6 days over", "No meal on record since arrival 10 days ago; rhythm 14.")
    assert says(animal, today=date(2026, 11, 26)) == (
        "held",
        "held",
        "Resting after arrival on 24 November, until 28 November.",
    )


def test_what_was_bred_here_needs_no_rest_after_arrival():
    day = date(2026, 12, 1)
    animal = make.SpecimenFactory(how="bred", acquired_earliest=day, acquired_latest=day, entered_at=make.NOW)
    assert due(animal).due_on == day


def test_an_animal_that_came_some_day_this_year_is_asked_for_from_the_day_it_was_entered():
    year = {"acquired_earliest": date(2026, 1, 1), "acquired_latest": date(2026, 12, 31)}
    animal = make.SpecimenFactory(**year, entered_at=datetime(2026, 6, 1, 12, tzinfo=UTC))
    assert due(animal).due_on == date(2026, 6, 1)


def test_an_animal_entered_after_midnight_is_here_since_that_day_of_the_house():
    animal = make.SpecimenFactory(
        acquired_earliest=None, acquired_latest=None, entered_at=datetime(2026, 7, 1, 22, 30, tzinfo=UTC)
    )
    assert due(animal).wanted_on == date(2026, 7, 2)


def test_hardening_holds_the_feed_and_asks_for_the_first_meal_when_it_is_over():
    animal = adult()
    make.fed(animal, date(2026, 11, 1))
    make.molted(animal, date(2026, 11, 22))
    assert says(animal) == ("held", "held", "Hardening after the molt of 22 November, until 6 December.")
    assert due(animal).due_on == due(animal, "hardening").due_on == date(2026, 12, 6)
    assert says(animal, "hardening", date(2026, 12, 6)) == (
        "look",
        "hardening over",
        "Molted 14 days ago; hardening is reckoned with 14 days. Offer a first meal once the fangs are black.",
    )


def test_the_first_meal_after_a_molt_ends_the_question():
    animal = adult()
    make.molted(animal, date(2026, 11, 22))
    make.fed(animal, date(2026, 12, 6))
    assert due(animal, "hardening") is None


def test_two_refusals_inside_the_molt_window_are_premolt():
    animal = adult()
    make.molted(animal, date(2026, 1, 1))
    make.fed(animal, date(2026, 10, 20))
    for day in (date(2026, 11, 20), date(2026, 11, 28)):
        make.fed(animal, day, "refused")
    urgency, _, sentence = says(animal)
    assert (urgency, sentence.rpartition(" until ")[0]) == ("held", "Premolt likely since 28 November,")
    assert due(animal).due_on > TODAY


def test_no_feed_is_asked_for_after_the_end_and_again_after_a_return():
    animal = adult()
    loan = make.left(animal, date(2026, 11, 1), kind="loan_out")
    assert not animal.dues.exists()
    record_return(loan, date(2026, 11, 20))
    assert due(animal) is not None
    make.died(make.fresh(animal), date(2026, 12, 1))
    assert not animal.dues.exists()


def test_the_same_meal_sent_twice_by_a_phone_is_one_meal():
    animal = adult()
    key = "0f8fad5b-d9cb-469f-a165-70867728950e"
    first, second = (make.fed(animal, date(2026, 12, 1), key=key) for _ in range(2))
    assert first == second
    assert animal.feedings.count() == 1


def test_many_animals_are_worked_out_with_the_questions_of_a_few(django_assert_num_queries):
    animals = [adult().pk for _ in range(8)]
    with CaptureQueriesContext(connection) as few:
        dues.refresh(animals[:2])
    with django_assert_num_queries(len(few)):
        dues.refresh(animals)


def signed(animal, sign, day):
    write(MoltSign(specimen=animal, sign=sign, earliest=day, latest=day), [animal], "sign")


def test_a_strong_sign_inside_the_molt_window_stops_feeding_and_a_weak_one_does_not():
    animal = adult()
    make.molted(animal, date(2026, 1, 1))
    make.fed(animal, date(2026, 11, 10))
    before = due(animal).due_on
    signed(animal, "sluggish", date(2026, 11, 20))
    assert due(animal).due_on == before
    signed(animal, "bald_dark", date(2026, 11, 20))
    assert says(animal)[0] == "held"
    assert says(animal)[2].startswith("Premolt likely since 20 November, until ")


def test_a_sign_from_before_the_last_molt_is_no_sign_any_more():
    animal = adult()
    signed(animal, "bald_dark", date(2026, 5, 1))
    make.molted(animal, date(2026, 6, 1))
    make.fed(animal, date(2026, 11, 10))
    make.fed(animal, date(2026, 11, 20), "refused")
    assert "Premolt" not in says(animal)[2]


def test_a_mantis_has_no_fangs_to_wait_for():
    mantis = make.SpecimenFactory(taxon=make.TaxonFactory(group="mantis"))
    make.molted(mantis, date(2026, 11, 1))
    assert says(mantis, "hardening")[2].endswith("Offer a first meal once its new skin is hard and has its colour.")


def test_a_shrunken_abdomen_is_no_longer_asked_after_when_the_animal_has_died():
    animal, day = make.SpecimenFactory(), date(2026, 11, 20)
    write(Measurement(specimen=animal, earliest=day, latest=day, carapace_mm=20, abdomen_mm=10), [animal], "measured")
    assert due(animal, "condition") is not None
    make.died(animal, TODAY)
    assert due(animal, "condition") is None
