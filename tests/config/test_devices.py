"""The list of signed-in devices, and signing one out from afar."""

import re

import pytest

from config.accounts.devices import describe
from tests.config.conftest import PASSWORD, signed_in

PHONE = (
    "Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0 Mobile Safari/537.36"
)


def ids(page) -> list[str]:
    return re.findall(r"/settings/devices/([\w-]+)/sign-out/", page.content.decode())


@pytest.mark.parametrize(
    ("user_agent", "words"),
    [
        (PHONE, "Chrome on Android"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18.0 Mobile Safari/604.1", "Safari on iPhone"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/140.0 Safari/537.36 Edg/140.0", "Edge on Windows"),
        ("", "A browser on an unknown system"),
    ],
)
def test_a_browser_is_named_as_a_person_would(user_agent, words):
    assert describe(user_agent) == words


def test_the_keeper_sees_every_device_and_which_is_this_one(keeper, helper):
    signed_in(helper, **{"User-Agent": PHONE})
    page = signed_in(keeper).get("/settings/devices/")
    assert len(ids(page)) == 2
    assert page.content.decode().count("this one") == 1
    assert "Chrome on Android" in page.content.decode()


def test_a_helper_sees_and_ends_only_their_own(keeper, helper):
    keepers = signed_in(keeper)
    keepers_id = ids(keepers.get("/settings/devices/"))[0]
    helpers = signed_in(helper)
    assert keepers_id not in ids(helpers.get("/settings/devices/"))
    helpers.post(f"/settings/devices/{keepers_id}/sign-out/")
    assert keepers.get("/settings/devices/").status_code == 200


def test_a_lost_phone_is_signed_out_from_the_desk(keeper):
    desk, phone = signed_in(keeper), signed_in(keeper, **{"User-Agent": PHONE})
    lost = next(key for key in ids(desk.get("/settings/devices/")) if key not in _own(desk))
    desk.post(f"/settings/devices/{lost}/sign-out/")
    assert phone.get("/settings/devices/").status_code == 302
    assert desk.get("/settings/devices/").status_code == 200


def _own(client) -> str:
    return client.session["device"]["id"]


def test_the_page_shows_no_session_key(as_keeper):
    assert as_keeper.session.session_key not in as_keeper.get("/settings/devices/").content.decode()


def test_a_device_that_is_gone_already_is_said_to_be(as_keeper):
    page = as_keeper.post("/settings/devices/unknown/sign-out/", follow=True)
    assert b"signed out already" in page.content


def test_a_new_password_ends_every_other_session(keeper):
    here, there = signed_in(keeper), signed_in(keeper)
    new = {"old_password": PASSWORD, "new_password1": "fern-slate-58", "new_password2": "fern-slate-58"}
    assert here.post("/settings/password/", new).url == "/settings/devices/"
    assert there.get("/settings/devices/").status_code == 302
    assert len(ids(here.get("/settings/devices/"))) == 1


def test_a_new_password_needs_the_old_one(as_keeper):
    new = {"old_password": "no", "new_password1": "fern-slate-58", "new_password2": "fern-slate-58"}
    assert as_keeper.post("/settings/password/", new).status_code == 422
