"""Forms are taken from our own pages alone, whatever the browser carries along; and what a proxy may say."""

import pytest
from django.test import Client

from tests import factories
from tests.config import houses
from tests.config.conftest import PASSWORD
from tests.config.houses import Browser, Server

HOME = "192.168.1.20:8000"


def sign_in_from(origin: str, **environ: str):
    """Fill in the sign-in page at our home address, but let the browser say that it stood elsewhere."""
    client = Client(enforce_csrf_checks=True, headers={"Host": HOME}, **environ)
    client.get("/sign-in/")
    form = {"username": "keeper", "password": PASSWORD, "csrfmiddlewaretoken": client.cookies["scopula_csrf"].value}
    return client.post("/sign-in/", form, headers={"Origin": origin} if origin else {})


@pytest.mark.parametrize("origin", [f"http://{HOME}", ""])
def test_a_form_of_our_own_page_passes_without_any_setting(keeper, origin):
    assert sign_in_from(origin).status_code == 302


@pytest.mark.parametrize(
    "origin",
    [
        "http://192.168.1.77:8000",
        "http://192.168.1.20:9000",
        "http://192.168.1.20",
        f"https://{HOME}",
        "http://evil.example",
        "null",
    ],
)
def test_other_houses_other_ports_and_sandboxed_frames_are_refused(keeper, origin):
    assert sign_in_from(origin).status_code == 403


def test_a_form_without_its_token_is_refused(keeper):
    client = Client(enforce_csrf_checks=True, headers={"Host": HOME})
    client.get("/sign-in/")
    assert client.post("/sign-in/", {"username": "keeper", "password": PASSWORD}).status_code == 403


def test_a_known_and_an_unknown_code_answer_alike_when_signed_out(keeper):
    tag = factories.SpecimenFactory().tag
    answers = [Client().get(f"/Q/{each}") for each in (tag, "ZZZZZZZZ")]
    assert [answer.url for answer in answers] == [f"/sign-in/?next=/Q/{tag}", "/sign-in/?next=/Q/ZZZZZZZZ"]
    assert answers[0].content == answers[1].content == b""


@pytest.mark.parametrize(("declared", "status", "secure"), [("127.0.0.1", 302, True), ("", 403, False)])
def test_only_a_proxy_that_was_declared_may_say_that_it_ends_tls(house, monkeypatch, declared, status, secure):
    seen = {**houses.environment(house), "SCOPULA_PROXY": declared}
    monkeypatch.setattr(houses, "environment", lambda folder: seen)
    server = Server(house)
    with Browser(server.port) as browser:
        headers = {"X-Forwarded-Proto": "https", "Origin": f"https://127.0.0.1:{server.port}"}
        browser.ask("GET", "/sign-in/", headers=headers)
        assert browser.send("/sign-in/", username="keeper", password=PASSWORD, headers=headers) == status
    assert any("Secure" in line for line in browser.set_cookies) is secure
    assert server.stop() == 0
