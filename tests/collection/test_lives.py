"""The page of survival: who is counted from when to when, what is left out, and what is too little to say."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection import lifetable, lives
from collection.lifetable import Curve, Life
from collection.lives import Asked
from collection.models import DeathCause
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
BORN = {"hatched_earliest": date(2026, 1, 1), "hatched_latest": date(2026, 1, 1)}
CAME = {"acquired_earliest": date(2026, 2, 1), "acquired_latest": date(2026, 2, 1)}


def only_life(**asked):
    found = lives.read(Asked(**asked), TODAY)
    [[life]] = found.groups.values()
    return life


def test_by_age_an_animal_is_watched_from_the_age_at_which_it_came():
    make.SpecimenFactory(**BORN, **CAME)
    assert only_life(clock="age") == Life(31, (TODAY - date(2026, 1, 1)).days + 1)
    assert only_life(clock="house") == Life(0, (TODAY - date(2026, 2, 1)).days + 1)


def test_a_death_ends_a_life_by_its_cause_and_the_day_of_coming_counts():
    make.died(make.SpecimenFactory(**BORN, **CAME), date(2026, 2, 1), cause="shipping")
    assert only_life(clock="age") == Life(31, 32, "the journey")
    assert only_life(clock="house") == Life(0, 1, "the journey")


@pytest.mark.parametrize("kind", ["passed_on", "loan_out", "missing"])
def test_who_leaves_alive_is_watched_until_then(kind):
    make.left(make.SpecimenFactory(**CAME), date(2026, 3, 1), kind)
    assert only_life(clock="house") == Life(0, 29)


def test_who_came_back_is_watched_on():
    gone = make.left(make.SpecimenFactory(**CAME), date(2026, 3, 1), "loan_out")
    gone.back_on = date(2026, 4, 1)
    gone.save()
    assert only_life(clock="house").exit == (TODAY - date(2026, 2, 1)).days + 1


def test_what_cannot_be_counted_is_left_out_and_told(keeper_client):
    make.SpecimenFactory(**BORN, **CAME)
    make.SpecimenFactory(**CAME)
    make.SpecimenFactory(**CAME, kind="culture")
    make.SpecimenFactory(hatched_earliest=date(2026, 9, 1), hatched_latest=date(2026, 9, 1), **CAME)
    make.left(make.SpecimenFactory(**BORN, **CAME), date(2026, 1, 20))
    found = lives.read(Asked(clock="age"), TODAY)
    assert (found.no_hatching, found.not_single, found.impossible) == (1, 1, 1)
    page = keeper_client.get(reverse("collection:survival"), {"clock": "age"}).content.decode()
    assert "1 animal whose hatching is not on record" in page
    assert "1 group or culture" in page


def test_the_clock_is_the_one_that_more_animals_have():
    make.SpecimenFactory(**CAME)
    assert lives.read(Asked(), TODAY).clock == "house"
    make.SpecimenFactory(**BORN, **CAME)
    assert lives.read(Asked(), TODAY).clock == "age"


def test_groups_are_taxa_clutches_or_origins():
    one = make.SpecimenFactory(**CAME, clutch="B-1/1", origin="W")
    make.SpecimenFactory(**CAME, taxon=one.taxon)
    assert set(lives.read(Asked(by="taxon"), TODAY).groups) == {one.taxon.name}
    assert lives.read(Asked(by="clutch"), TODAY).groups.keys() == {"B-1/1"}
    assert lives.read(Asked(by="clutch"), TODAY).no_group == 1
    assert set(lives.read(Asked(by="origin"), TODAY).groups) == {"wild caught", "origin unknown"}
    make.SpecimenFactory(**CAME)
    assert sum(map(len, lives.read(Asked(taxon=one.taxon_id), TODAY).groups.values())) == 2


def test_by_stage_an_animal_is_watched_from_its_first_size():
    """Whoever stands with its last stage has had to live to it; with the first, from that day on, nobody has."""
    animal = make.SpecimenFactory(**CAME)
    make.molted(animal, date(2026, 3, 1), leg_span_mm=20)
    make.molted(animal, date(2026, 11, 1), leg_span_mm=150)
    found = lives.read(Asked(by="stage", clock="house"), TODAY)
    assert found.groups == {"spiderling": [Life(28, (TODAY - date(2026, 2, 1)).days + 1)]}
    make.SpecimenFactory(**CAME)
    assert lives.read(Asked(by="stage", clock="house"), TODAY).no_group == 1


def test_every_cause_of_death_has_its_group():
    assert {cause.value for cause in DeathCause} - lives.GROUP_OF.keys() == set()


def dying(n, deaths, label="all"):
    return Curve(label, tuple(Life(0, 10 + k, "age" if k < deaths else "") for k in range(n)))


def test_nine_animals_or_two_deaths_are_too_few_to_say():
    assert dying(9, 9).few
    assert dying(30, 2).few
    assert not dying(10, 3).few
    assert lifetable.compare([dying(10, 3, "a"), dying(9, 9, "b")]) is None


def test_a_curve_is_read_only_while_somebody_was_watched():
    curve = Curve("a", (*(Life(5, 20 + k, "age") for k in range(4)), *(Life(12, 30) for _ in range(8))))
    assert [row.time for row in curve.readings([1, 5, 20, 25, 40])] == [5, 20, 25]
    assert curve.thin_until is None
    early = Curve("b", (Life(0, 3, "age"), Life(0, 30), *(Life(10, 12 + k, "age") for k in range(6))))
    assert early.thin_until == 3


def test_the_tail_that_rests_on_few_is_told_and_not_drawn():
    curve = Curve("a", (*(Life(0, 20 + k, "age") for k in range(9)), Life(0, 400)))
    assert (curve.thin_from, curve.told_until, curve.ends) == (26, 28, 400)
    assert Curve("b", tuple(Life(0, 10, "age") for _ in range(3))).thin_from is None


def test_the_words_of_a_comparison_claim_no_more_than_there_is():
    assert "p below 0.001" in lifetable.say_difference(lifetable.LogRank(30, 1e-7))
    assert "seem to" in lifetable.say_difference(lifetable.LogRank(5, 0.03))
    assert "does not prove" in lifetable.say_difference(lifetable.LogRank(1, 0.4))


def test_a_page_says_that_there_are_too_few_and_draws_nothing(keeper_client):
    for _ in range(3):
        make.died(make.SpecimenFactory(**CAME), TODAY - timedelta(days=3))
    page = keeper_client.get(reverse("collection:survival")).content.decode()
    assert "a curve takes 10 animals and 3 deaths" in page
    assert "<figure>" not in page


def test_an_empty_house_and_an_old_bookmark_open_too(keeper_client):
    answer = keeper_client.get(reverse("collection:survival"), {"by": "luck", "taxon": "99999", "clock": "x"})
    assert "No lives to count yet" in answer.content.decode()


def test_the_page_asks_the_same_whatever_the_number_of_animals(keeper_client):
    counts = []
    for _ in range(2):
        for _ in range(6):
            make.died(make.SpecimenFactory(**BORN, **CAME), TODAY)
            make.molted(make.SpecimenFactory(**BORN, **CAME), TODAY, leg_span_mm=20)
        with CaptureQueriesContext(connection) as queries:
            keeper_client.get(reverse("collection:survival"), {"by": "stage"})
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 16
