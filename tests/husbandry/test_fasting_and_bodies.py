"""When a fast is worth a look, shrunken abdomens, and the strips of an animal's years."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from collection import attention, dues
from collection.models import Measurement
from collection.services import write
from collection.stages import Group, Stage
from husbandry.fasting import Excuse, alert_from, refusal_alert
from husbandry.feeding_figures import years
from tests import factories as make

TODAY = make.TODAY
FED = date(2026, 1, 1)
STAGES = [Stage.YOUNG, Stage.GROWING, Stage.ADULT, Stage.MATURE_MALE, Stage.UNKNOWN]


def after(*days):
    return [FED + timedelta(days=n) for n in days]


def test_the_day_by_hand():
    """Assumed limits: the fourth feeding refused, 60 days, 120 days."""
    assert alert_from(Group.TARANTULA, Stage.YOUNG, after(4, 8, 12, 16), FED) == after(16)[0]
    assert alert_from(Group.TARANTULA, Stage.GROWING, after(10), FED) == after(61)[0]
    assert alert_from(Group.TARANTULA, Stage.ADULT, after(130), FED) == after(130)[0]
    assert alert_from(Group.MANTIS, Stage.ADULT, after(3, 6, 9), FED) is None


def test_an_excuse_puts_it_off_to_its_end_or_for_good():
    refused = after(20, 40)
    assert alert_from(Group.TARANTULA, Stage.ADULT, refused, FED, [Excuse(FED, after(200)[0])]) == after(200)[0]
    assert alert_from(Group.TARANTULA, Stage.ADULT, refused, FED, [Excuse(FED, None)]) is None
    assert alert_from(Group.TARANTULA, Stage.ADULT, refused, FED, [Excuse(FED, after(100)[0])]) == after(121)[0]


@given(
    st.sampled_from(list(Group)),
    st.sampled_from(STAGES),
    st.lists(st.integers(1, 200), max_size=7),
    st.integers(1, 250),
    st.booleans(),
)
def test_it_begins_on_the_day_from_which_the_sentence_is_said(group, stage, refused, today, male):
    refused = [day for day in refused if day <= today]
    first = alert_from(group, stage, after(*refused), FED, mature_male=male)
    said = refusal_alert(
        group,
        stage,
        refusals=len(refused),
        last_taken=FED,
        in_house_since=None,
        today=after(today)[0],
        mature_male=male,
    )
    assert (first is not None and first <= after(today)[0]) == bool(said)


def grown():
    animal = make.female()
    write(Measurement(specimen=animal, earliest=FED, latest=FED, leg_span_mm=150), [animal], "measured")
    make.fed(animal, date(2026, 6, 1))
    for day in (date(2026, 7, 1), date(2026, 9, 1)):
        make.fed(animal, day, "refused")
    return animal


def says(animal, kind="feed"):
    return attention.due_kinds[kind].say(dues.as_stored(animal.dues.get(kind=kind)), TODAY).sentence


@pytest.mark.django_db
def test_a_long_fast_is_said_with_the_feed():
    assert says(grown()).endswith("try again. That is a long fast, over 120 days: look at the abdomen and offer water.")


@pytest.mark.django_db
def test_a_female_that_may_be_gravid_may_fast():
    animal = grown()
    make.paired(animal, date(2026, 5, 1))
    assert "long fast" not in says(animal)


def measured(animal, day=TODAY, **sizes):
    write(Measurement(specimen=animal, earliest=day, latest=day, **sizes), [animal], "measured")


@pytest.mark.django_db
def test_a_shrunken_abdomen_is_said_until_it_is_measured_full_again():
    animal = make.SpecimenFactory()
    make.molted(animal, date(2026, 6, 1), carapace_mm=20)
    measured(animal, date(2026, 11, 30), abdomen_mm=12)
    assert says(animal, "condition").startswith("Abdomen 0.6 times the carapace: shrunken")
    measured(animal, abdomen_mm=22)
    assert not animal.dues.filter(kind="condition").exists()


@pytest.mark.django_db
def test_no_word_about_abdomens_on_the_page_of_a_scorpion(keeper_client):
    scorpion = make.SpecimenFactory(taxon__group="scorpion", taxon__size_measure="body")
    measured(scorpion, abdomen_mm=5, carapace_mm=20, body_mm=50)
    assert not scorpion.dues.filter(kind="condition").exists()
    assert "Abdomen" not in keeper_client.get(scorpion.get_absolute_url()).content.decode()


def test_each_year_is_a_strip_of_its_own_with_its_longest_fast():
    meals = [(date(2025, 12, 1), True), (date(2026, 1, 5), True), (date(2026, 2, 1), False), (date(2026, 11, 1), True)]
    found = years(meals, [(date(2025, 12, 20), date(2026, 1, 4))], TODAY)
    assert [(one.year, one.strip.taken, one.strip.refused, one.longest) for one in found] == [
        (2026, 2, 1, 300),
        (2025, 1, 0, 30),
    ]
    assert [len(one.strip.held) for one in found] == [1, 1]
    assert [one.current for one in found] == [True, False]
    assert years([], [], TODAY) == []


@pytest.mark.django_db
def test_the_page_of_years_opens_for_a_helper_too(helper_client):
    animal = make.SpecimenFactory()
    address = reverse("husbandry:meal-years", args=[animal.pk])
    assert "No meal is on record yet" in helper_client.get(address).content.decode()
    make.fed(animal, FED)
    assert "1 meal taken in 1 year" in helper_client.get(address).content.decode()
