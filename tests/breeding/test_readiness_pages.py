"""Readiness and risk as pages, what is noted before a meeting, and males whose time runs out."""

from datetime import timedelta

import pytest
from django.urls import reverse

from breeding.models import Pairing
from breeding.time_attention import say_time
from collection.dues import as_stored
from collection.models import Due
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY


def ago(days):
    return TODAY - timedelta(days=days)


@pytest.fixture
def pair():
    female = make.female(code="F-1")
    make.molted(female, ago(200), leg_span_mm=150)
    return Pairing.objects.create(female=female, male=make.male(ago(60), code="M-1", taxon=female.taxon))


def test_females_and_males_stand_by_taxon_with_what_is_missing(keeper_client, pair):
    make.fed(pair.female, ago(20))
    page = keeper_client.get("/breeding/readiness/").content.decode()
    assert page.index("F-1</a>") < page.index("M-1</a>")
    for words in ("Last meal taken 20 days ago; feed in the week before a meeting.", "No sperm web on record"):
        assert words in page


def test_the_list_can_be_narrowed_to_a_taxon_and_an_odd_one_changes_nothing(keeper_client, pair):
    other = make.female(code="F-2")
    page = keeper_client.get(f"/breeding/readiness/?taxon={other.taxon_id}").content.decode()
    assert "F-2</a>" in page
    assert "F-1</a>" not in page
    assert "F-1</a>" in keeper_client.get("/breeding/readiness/?taxon=x").content.decode()


def test_an_empty_house_is_told_what_will_stand_there(keeper_client):
    assert "Here will stand every grown female" in keeper_client.get("/breeding/readiness/").content.decode()


def test_what_is_noted_before_a_meeting_shows_among_the_risks(keeper_client, pair):
    sent = {"way_out": "False", "retreat": "True", "risk_note": "She lunges at the brush."}
    answer = keeper_client.post(reverse("breeding:before", args=[pair.pk]), sent)
    assert answer.headers["Location"] == pair.get_absolute_url()
    for name in ("pairing-detail", "live"):
        page = keeper_client.get(reverse(f"breeding:{name}", args=[pair.pk])).content.decode()
        assert "He has no way out. Give him one before he goes in." in page
        assert "She lunges at the brush." in page


def test_the_log_of_a_meeting_can_be_had_without_scripts(keeper_client, pair):
    page = keeper_client.get(reverse("breeding:live", args=[pair.pk])).content.decode()
    assert reverse("breeding:meeting-new", args=[pair.pk]) in page
    assert "needs scripts" in page


def test_the_dead_are_not_asked_to_meet(keeper_client, pair):
    assert "with the stopwatch" in keeper_client.get(pair.get_absolute_url()).content.decode()
    make.died(pair.male, ago(1))
    assert "with the stopwatch" not in keeper_client.get(pair.get_absolute_url()).content.decode()


def time_of(male):
    return Due.objects.filter(specimen=male, kind="time").first()


def test_a_male_never_paired_is_shown_six_months_after_his_last_molt(pair):
    male = make.male(ago(183), code="M-2", taxon=pair.female.taxon)
    due = time_of(male)
    assert (due.wanted_on, due.ends_on) == (TODAY, TODAY + timedelta(days=304 - 183))
    said = say_time(as_stored(due), TODAY)
    assert said.plate == "time runs out"
    assert "never paired" in said.sentence


def test_a_pairing_ends_it_and_so_does_his_death(pair):
    paired, dead = (make.male(ago(200), code=code, taxon=pair.female.taxon) for code in ("M-3", "M-4"))
    make.paired(pair.female, ago(10), sire=paired)
    make.died(dead, ago(1))
    assert (time_of(paired), time_of(dead)) == (None, None)


def test_a_clock_that_was_set_back_does_not_shut_the_page(keeper_client, pair, time_machine):
    make.housed(pair.female)
    make.fed(pair.female, TODAY)
    make.molted(pair.male, TODAY)
    time_machine.move_to(make.NOW.replace("12-04", "11-20"), tick=False)
    assert keeper_client.get("/breeding/readiness/").status_code == 200
