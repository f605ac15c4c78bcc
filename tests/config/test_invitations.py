"""A helper comes in by a link: once, in time, and to no account but their own."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from config.accounts.models import Invitation
from husbandry.label_services import prints
from tests.config.conftest import PASSWORD, signed_in

JO = {"username": "jo", "password1": "birch-loam-73", "password2": "birch-loam-73"}
INVITE = "/settings/people/invite/"


def invite(client: Client, days: int = 14, name: str = "", once: str = "a"):
    until = timezone.localdate() + timedelta(days=days)
    return client.post(INVITE, {"name": name, "until": until.isoformat(), "once": once})


def link(page) -> str:
    """The address that the page shows, without the house before it."""
    return re.search(r'readonly value="https?://[^/]+(/invited/\w+/)"', page.content.decode())[1]


def test_whoever_follows_the_link_is_a_helper_and_signed_in(as_keeper, today):
    where, phone = link(invite(as_keeper)), Client()
    assert f"until {today + timedelta(days=14):%-d %B %Y}" in phone.get(where).content.decode()
    assert phone.post(where, JO).url == "/"
    jo = User.objects.get(username="jo")
    assert not jo.is_superuser
    assert jo.helper_term.until == today + timedelta(days=14)
    assert phone.get("/settings/devices/").status_code == 200
    assert phone.get("/settings/people/").status_code == 403


def test_the_link_is_long_random_and_kept_only_as_a_hash(as_keeper):
    first, second = (link(invite(as_keeper, once=key)).split("/")[2] for key in ("a", "b"))
    assert first != second
    assert len(first) * 4 >= 128
    kept = {str(value) for row in Invitation.objects.values() for value in row.values()}
    assert not kept & {first, second}


def test_the_code_for_the_camera_is_drawn_in_the_page_and_has_a_name(as_keeper):
    page = invite(as_keeper).content.decode()
    assert 'role="img" aria-label="The link below, as a code for a phone’s camera"><svg' in page
    assert "style=" not in page


UNKNOWN = "/invited/" + "0" * 40 + "/"


def dead(as_keeper, how: str) -> str:
    where = link(invite(as_keeper))
    if how == "used":
        Client().post(where, JO)
    else:
        as_keeper.post(f"/settings/people/invitations/{Invitation.objects.get().pk}/withdraw/")
    return where


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("how", ["used", "withdrawn"])
def test_a_dead_link_answers_exactly_as_an_unknown_one(as_keeper, how, method):
    where, phone = dead(as_keeper, how), Client()
    answer = getattr(phone, method)(where, {**JO, "username": "mo"} if method == "post" else {})
    unknown = getattr(phone, method)(UNKNOWN)
    assert answer.status_code == unknown.status_code == 404
    assert answer.content == unknown.content
    assert not User.objects.filter(username="mo").exists()


@pytest.mark.parametrize(("days", "later"), [(14, timedelta(days=7, minutes=1)), (0, timedelta(days=1))])
def test_after_seven_days_or_the_last_day_the_link_is_dead(as_keeper, days, later):
    where = link(invite(as_keeper, days))
    assert Client().get(where).status_code == 200
    with time_machine.travel(timezone.now() + later):
        assert Client().get(where).status_code == 404
        assert Client().post(where, JO).status_code == 404
    assert not User.objects.filter(username="jo").exists()


def test_looking_does_not_use_the_link_up_and_neither_does_a_refused_form(as_keeper):
    where = link(invite(as_keeper))
    Client().get(where)
    weak = Client().post(where, {**JO, "password1": "12345678", "password2": "12345678"})
    assert weak.status_code == 422
    assert Client().post(where, JO).status_code == 302


def test_a_form_that_the_browser_sends_twice_makes_one_link(as_keeper):
    assert link(invite(as_keeper, once="same")) == link(invite(as_keeper, once="same"))
    assert Invitation.objects.count() == 1


def test_repeating_the_form_does_not_open_a_used_link_again(as_keeper):
    where = link(invite(as_keeper, once="same"))
    Client().post(where, JO)
    assert invite(as_keeper, once="same").url == "/settings/people/"
    assert Client().get(where).status_code == 404


@pytest.mark.parametrize("name", ["keeper", "Keeper", "helper", "HELPER"])
def test_a_link_gives_nobody_elses_account_away(as_keeper, helper, name):
    answer = Client().post(link(invite(as_keeper)), {**JO, "username": name})
    assert answer.status_code == 422
    assert "Somebody has this name here already" in answer.content.decode()
    assert helper.__class__.objects.get(username="helper").check_password(PASSWORD)


def test_a_former_helper_whom_the_keeper_names_gets_the_account_back(as_keeper, helper):
    as_keeper.post(f"/settings/people/{helper.pk}/end/")
    page = invite(as_keeper, name="helper")
    assert Client().post(link(page), {**JO, "username": "helper"}).status_code == 302
    assert User.objects.get(username="helper").is_active


def test_a_keeper_is_not_invited_and_a_past_day_is_refused(as_keeper):
    assert "needs no invitation" in invite(as_keeper, name="keeper").content.decode()
    assert "That day has passed" in invite(as_keeper, days=-1).content.decode()
    assert not Invitation.objects.exists()


def test_the_keeper_sees_open_links_and_withdraws_them(as_keeper):
    invite(as_keeper, name="jo")
    assert b"Withdraw" in as_keeper.get("/settings/people/").content
    page = as_keeper.post(f"/settings/people/invitations/{Invitation.objects.get().pk}/withdraw/", follow=True)
    assert b"opens nothing any more" in page.content
    assert b">Withdraw<" not in page.content


def test_the_link_carries_the_address_of_the_labels_and_else_the_keepers_own(as_keeper):
    assert b'value="http://testserver/invited/' in invite(as_keeper).content
    prints.save_address("HTTP://RACK.LOCAL:8000")
    assert b'value="http://rack.local:8000/invited/' in invite(as_keeper, once="b").content


def test_under_tls_the_link_never_travels_over_plain_http(as_keeper, keeper):
    prints.save_address("HTTP://RACK.LOCAL:8000")
    page = as_keeper.post(INVITE, {"name": "", "until": "2099-01-01", "once": "c"}, secure=True)
    assert b'value="https://testserver/invited/' in page.content


def test_the_link_is_kept_by_no_cache_and_a_helper_can_make_none(as_keeper, helper):
    page = invite(as_keeper)
    assert "no-store" in page.headers["Cache-Control"]
    assert "no-store" in Client().get(link(page)).headers["Cache-Control"]
    assert invite(signed_in(helper)).status_code == 403
