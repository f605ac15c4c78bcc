"""Helpers: let in, for how long, and shut out."""

from datetime import date, timedelta

import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from tests.config.conftest import PASSWORD, signed_in


def admit(client: Client, until, name="jo", password="birch-loam-73"):
    return client.post("/settings/people/", {"username": name, "password": password, "until": until.isoformat()})


def test_the_keeper_lets_a_helper_in(as_keeper, today):
    assert admit(as_keeper, today + timedelta(days=3)).url == "/settings/people/"
    assert Client().post("/sign-in/", {"username": "jo", "password": "birch-loam-73"}).status_code == 302
    assert not User.objects.get(username="jo").is_superuser


def test_a_day_in_the_past_is_refused_and_what_was_typed_stays(as_keeper, today):
    response = admit(as_keeper, today - timedelta(days=1))
    assert response.status_code == 422
    assert b"That day has passed" in response.content
    assert b'value="jo"' in response.content


def test_a_weak_password_is_refused_for_helpers_too(as_keeper, today):
    assert admit(as_keeper, today, password="12345678").status_code == 422
    assert not User.objects.filter(username="jo").exists()


def test_a_keepers_name_cannot_be_taken_by_a_helper(as_keeper, today):
    response = admit(as_keeper, today, name="keeper")
    assert response.status_code == 422
    assert User.objects.get(username="keeper").check_password(PASSWORD)


def test_a_helper_is_not_let_in_after_the_last_day(helper, today):
    right = {"username": "helper", "password": PASSWORD}
    last_day = timezone.now() + timedelta(days=7)
    with time_machine.travel(last_day):
        assert Client().post("/sign-in/", right).status_code == 302
    with time_machine.travel(last_day + timedelta(days=1)):
        response = Client().post("/sign-in/", right)
    assert response.status_code == 422
    assert b"This helper account ended on" in response.content


def test_a_helpers_open_session_ends_with_the_last_day(helper):
    client = signed_in(helper)
    now = timezone.now()
    with time_machine.travel(now + timedelta(days=3)):
        assert client.get("/settings/devices/").status_code == 200
    with time_machine.travel(now + timedelta(days=8)):
        assert client.get("/settings/devices/").status_code == 302


def test_shutting_out_ends_open_sessions_at_once(as_keeper, as_helper, helper):
    as_keeper.post(f"/settings/people/{helper.pk}/end/")
    assert as_helper.get("/settings/devices/").status_code == 302
    assert Client().post("/sign-in/", {"username": "helper", "password": PASSWORD}).status_code == 422


def test_a_helper_who_was_shut_out_can_be_let_in_again(as_keeper, helper, today):
    as_keeper.post(f"/settings/people/{helper.pk}/end/")
    admit(as_keeper, today, name="helper")
    assert Client().post("/sign-in/", {"username": "helper", "password": "birch-loam-73"}).status_code == 302


def test_a_keeper_cannot_be_shut_out(as_keeper, keeper):
    as_keeper.post(f"/settings/people/{keeper.pk}/end/")
    assert as_keeper.get("/settings/people/").status_code == 200


def test_a_helper_cannot_let_anybody_in(as_helper, today):
    assert admit(as_helper, today).status_code == 403
    assert not User.objects.filter(username="jo").exists()


def test_an_end_that_no_clock_can_hold_is_refused_with_a_sentence(as_keeper):
    response = admit(as_keeper, date.max)
    assert response.status_code == 422
    assert "Choose a day of the next hundred years." in response.content.decode()
