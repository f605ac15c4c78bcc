"""Signing in, and staying so."""

from datetime import timedelta

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from tests.config.conftest import PASSWORD, signed_in


def test_a_wrong_password_is_refused_with_what_was_typed(keeper):
    response = Client().post("/sign-in/", {"username": "keeper", "password": "no"})
    assert response.status_code == 422
    assert b"do not fit together" in response.content
    assert b'value="keeper"' in response.content


def test_an_unknown_name_gets_the_same_answer_as_a_wrong_password(keeper):
    def answer(name):
        page = Client().post("/sign-in/", {"username": name, "password": "no"}).content.decode()
        return page.replace(name, "NAME").split("csrfmiddlewaretoken")[1].partition(">")[2]

    assert answer("keeper") == answer("nobody")


def test_after_signing_in_one_is_where_one_wanted_to_be(keeper):
    page = Client().get("/settings/devices/")
    assert page.url == "/sign-in/?next=/settings/devices/"
    response = Client().post(page.url, {"username": "keeper", "password": PASSWORD})
    assert response.url == "/settings/devices/"


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example", "javascript:alert(1)"])
def test_nobody_is_sent_to_another_site(keeper, elsewhere):
    response = Client().post("/sign-in/", {"username": "keeper", "password": PASSWORD, "next": elsewhere})
    assert response.url == "/"


def test_a_seventh_wrong_password_has_to_wait_and_says_how_long(keeper):
    client = Client(REMOTE_ADDR="192.168.1.9")
    wrong = {"username": "keeper", "password": "no"}
    answers = [client.post("/sign-in/", wrong) for _ in range(7)]
    assert [answer.status_code for answer in answers] == [422] * 6 + [429]
    assert int(answers[-1].headers["Retry-After"]) in {1, 2}
    assert b"Too many tries" in answers[-1].content


def test_the_keepers_own_browser_gets_in_while_a_stranger_hammers(keeper):
    own = signed_in(keeper)
    own.post("/sign-out/")
    stranger = Client()
    for _ in range(7):
        stranger.post("/sign-in/", {"username": "keeper", "password": "no"})
    right = {"username": "keeper", "password": PASSWORD}
    assert stranger.post("/sign-in/", right).status_code == 429
    assert own.post("/sign-in/", right).status_code == 302


def test_signing_out_needs_a_post(as_keeper):
    assert as_keeper.get("/sign-out/").status_code == 405
    assert as_keeper.post("/sign-out/").url == "/sign-in/"
    assert as_keeper.get("/settings/devices/").status_code == 302


def test_the_cookies_are_our_own_and_not_for_scripts(keeper):
    client = signed_in(keeper)
    session, csrf = client.cookies["scopula_session"], client.cookies["scopula_csrf"]
    assert session["max-age"] == 90 * 24 * 60 * 60
    assert session["samesite"] == csrf["samesite"] == "Lax"
    assert session["httponly"]
    assert not session["secure"]
    assert "sessionid" not in client.cookies


def test_a_session_in_use_is_renewed_once_a_day_and_no_oftener(as_keeper):
    first = Session.objects.get().expire_date
    as_keeper.get("/settings/devices/")
    assert Session.objects.get().expire_date == first
    with time_machine.travel(timezone.now() + timedelta(days=3)):
        as_keeper.get("/settings/devices/")
        renewed = Session.objects.get().expire_date
    assert renewed - first >= timedelta(days=2)


def test_a_fragment_asked_for_after_the_session_ended_leads_the_whole_page_to_sign_in(keeper):
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/settings/devices/?page=2"}
    response = Client().get("/settings/devices/", headers=headers)
    assert response.headers["HX-Redirect"] == "/sign-in/?next=%2Fsettings%2Fdevices%2F%3Fpage%3D2"


def test_a_fragment_with_an_address_that_is_none_is_led_to_the_door_as_well(db, keeper):
    headers = {"HX-Request": "true", "HX-Current-URL": "http://[broken"}
    assert Client().get("/settings/devices/", headers=headers)["HX-Redirect"] == "/sign-in/?next=%2F"
