"""The first account: who can make it, and when."""

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.test import Client

from config.accounts import services, setup_code

pytestmark = pytest.mark.django_db
ELSEWHERE = {"REMOTE_ADDR": "192.168.1.40"}
NEW = {"username": "mara", "password1": "clove-oak-29", "password2": "clove-oak-29"}


def test_sign_in_leads_to_setup_while_nobody_has_an_account():
    assert Client().get("/sign-in/").url == "/setup/"


def test_at_the_machine_itself_no_code_is_asked():
    client = Client()
    assert b"Code from the terminal" not in client.get("/setup/").content
    response = client.post("/setup/", NEW)
    assert response.url == "/"
    assert User.objects.get().is_superuser


def test_from_another_machine_the_code_in_the_terminal_is_needed():
    client = Client(**ELSEWHERE)
    assert b"Code from the terminal" in client.get("/setup/").content
    response = client.post("/setup/", NEW)
    assert response.status_code == 422
    assert not User.objects.exists()


def test_behind_a_proxy_on_this_machine_the_code_is_needed_all_the_same():
    client = Client(headers={"X-Forwarded-For": "203.0.113.9"})
    assert client.post("/setup/", NEW).status_code == 422
    assert not User.objects.exists()


def test_a_wrong_code_is_refused_and_the_name_kept():
    setup_code.issue()
    response = Client(**ELSEWHERE).post("/setup/", {**NEW, "code": "0000-0000"})
    assert response.status_code == 422
    assert b"That is not the code in the terminal" in response.content
    assert b'value="mara"' in response.content


def test_the_right_code_makes_the_keeper_and_is_used_up():
    code = setup_code.issue()
    response = Client(**ELSEWHERE).post("/setup/", {**NEW, "code": code.lower().replace("-", " ").replace("0", "o")})
    assert response.url == "/"
    assert not setup_code.fits(code)


def test_a_restart_makes_the_old_code_useless():
    old = setup_code.issue()
    new = setup_code.issue()
    assert setup_code.fits(new)
    assert not setup_code.fits(old)


def test_the_code_itself_is_not_on_disk_and_its_hash_is_the_owners_alone():
    code = setup_code.issue()
    file = settings.DATA_DIR / "setup-code"
    assert code.replace("-", "") not in file.read_text()
    assert file.stat().st_mode & 0o077 == 0


def test_guessing_the_code_is_slowed_down():
    setup_code.issue()
    client = Client(**ELSEWHERE)
    answers = [client.post("/setup/", {**NEW, "code": f"0000-000{n}"}).status_code for n in range(7)]
    assert answers == [422] * 6 + [429]


def test_setup_is_gone_once_there_is_an_account(keeper):
    assert Client().get("/setup/").status_code == 404
    assert Client().post("/setup/", NEW).status_code == 404


def test_of_two_who_set_up_at_once_the_slower_is_refused(keeper):
    with pytest.raises(services.NotPossible, match="made already"):
        services.create_first_keeper("second", "clove-oak-29")
    assert User.objects.count() == 1


def test_a_password_that_everybody_tries_first_is_refused():
    response = Client().post("/setup/", {"username": "mara", "password1": "password", "password2": "password"})
    assert response.status_code == 422
    assert b"too common" in response.content
