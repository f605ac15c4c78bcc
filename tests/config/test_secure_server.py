"""`up --https` as a device of the house meets it."""

import json
import re
import sqlite3
import ssl
import time
from contextlib import closing
from http.client import HTTPConnection, HTTPSConnection
from urllib.parse import urlencode

import pytest

from tests.config import houses
from tests.config.houses import SecureServer

KEEPER = {"username": "keeper", "password": "clove-oak-29"}


@pytest.fixture
def server(house):
    return SecureServer(house)


@pytest.fixture
def device(server):
    found = Device(server)
    yield found
    found.connection.close()


def plain(server, method: str, path: str, headers: dict[str, str] | None = None):
    """Ask the plain port."""
    with closing(HTTPConnection("127.0.0.1", server.plain_port, timeout=10)) as connection:
        connection.request(method, path, headers=headers or {})
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()


class Device:
    """A browser that trusts the house's authority, and keeps cookies."""

    def __init__(self, server) -> None:
        trust = ssl.create_default_context(cadata=plain(server, "GET", "/ca/scopula.crt")[2].decode())
        self.house = f"https://127.0.0.1:{server.port}"
        self.connection = HTTPSConnection("127.0.0.1", server.port, context=trust, timeout=10)
        self.cookies: dict[str, str] = {}
        self.set_cookies: list[str] = []

    def ask(self, method: str, path: str, body: str | bytes | None = None, **headers: str):
        """Status, headers, content."""
        headers |= {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        content = answer.read()
        for line in answer.headers.get_all("set-cookie") or []:
            self.set_cookies.append(line)
            self.cookies.update([line.partition(";")[0].split("=", 1)])
        return answer.status, answer.headers, content

    def send(self, path: str, origin: str = "", **fields: str):
        """Send a form, as a browser does: with the address of the page it stands on."""
        form = {"csrfmiddlewaretoken": self.cookies["__Host-scopula_csrf"], **fields}
        kind = "application/x-www-form-urlencoded"
        return self.ask("POST", path, urlencode(form), **{"Content-Type": kind, "Origin": origin or self.house})

    def sign_in(self) -> "Device":
        self.ask("GET", "/sign-in/")
        assert self.send("/sign-in/", **KEEPER)[0] == 302
        return self


def test_the_program_answers_those_who_trust_the_authority_and_no_others(server, device):
    assert device.ask("GET", "/sign-in/")[0] == 200
    stranger = HTTPSConnection("127.0.0.1", server.port, context=ssl.create_default_context(), timeout=10)
    with closing(stranger), pytest.raises(ssl.SSLCertVerificationError):
        stranger.connect()


def test_the_plain_port_hands_out_the_certificate_and_sends_everything_else_here(server):
    page = plain(server, "GET", "/ca")[2].decode()
    said = re.search(r"SHA-256 ([0-9A-F:]{95})", server.said)[1]
    assert said in page
    status, headers, content = plain(server, "GET", "/animals/1/?a=b")
    assert (status, headers["Location"], content) == (307, f"https://127.0.0.1:{server.port}/animals/1/?a=b", b"")
    assert plain(server, "POST", "/sign-in/")[0] == 307
    assert plain(server, "GET", "/sign-in/", {"Host": "evil.example"})[0] == 400
    assert plain(server, "GET", "/sign-in/", {"X-Forwarded-Proto": "https"})[0] == 307


def test_cookies_are_secure_and_have_names_that_plain_http_cannot_take(device):
    device.sign_in()
    names = {"__Host-scopula_session", "__Host-scopula_csrf", "__Host-scopula_browser"}
    assert names <= device.cookies.keys()
    for line in device.set_cookies:
        if line.partition("=")[0] in names:
            assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= set(line.split("; "))
    assert device.ask("GET", "/")[0] == 200


def test_nothing_is_promised_that_outlives_tls(device):
    assert "Strict-Transport-Security" not in device.ask("GET", "/sign-in/")[1]


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:{plain}", "https://127.0.0.1:1"])
def test_forms_from_elsewhere_are_refused(server, device, origin):
    device.ask("GET", "/sign-in/")
    assert device.send("/sign-in/", origin.format(plain=server.plain_port), **KEEPER)[0] == 403


SET_OUT = """
from django.contrib.auth.models import User
from collection import dues
from collection.models import Specimen
from husbandry import services
from husbandry.models import Enclosure, Walk
from datetime import date
dues.refresh([1])
box = Enclosure.objects.create(code="B1")
services.move(Specimen.objects.get(), box, date(2026, 1, 1))
Walk.objects.create(stops=[box.pk], by=User.objects.get())
"""


def test_taps_of_a_walk_are_taken_from_the_page_under_tls_alone(server, device, house):
    houses.run(house, "shell", "-v0", "-c", SET_OUT)
    device.sign_in()
    assert device.ask("GET", "/walks/1/")[0] == 200
    tap = {"key": "6f1c1a5e-3c53-4a58-9d7b-1d2f0f3b7a10", "kind": "water", "enclosure": 1, "specimen": 1}
    body = json.dumps({"taps": [tap | {"at": "2026-11-25T09:00:00Z"}], "sent_at": "2026-11-25T09:00:01Z"})
    as_json = {"Content-Type": "application/json"}
    plainly = f"http://127.0.0.1:{server.port}"
    assert device.ask("POST", "/walks/1/taps/", body, Origin=plainly, **as_json)[0] == 403
    answer = device.ask("POST", "/walks/1/taps/", body, Origin=device.house, **as_json)
    assert answer[0] == 200
    assert json.loads(answer[2])["saved"] == [tap["key"]]


def test_answers_without_content_arrive(device):
    style = re.search(rb'href="(/static/look\.[^"]+)"', device.ask("GET", "/sign-in/")[2])[1].decode()
    status, headers, content = device.ask("GET", style)
    assert status == 200
    assert len(content) > 1000
    assert device.ask("GET", style, **{"If-Modified-Since": headers["Last-Modified"]})[0] == 304
    assert device.ask("HEAD", style)[::2] == (200, b"")


@pytest.mark.parametrize(("mebibytes", "status"), [(20, 403), (33, 400)])
def test_a_photo_passes_and_more_than_the_limit_does_not(device, mebibytes, status):
    device.ask("GET", "/sign-in/")
    assert device.ask("POST", "/sign-in/", b"x" * (mebibytes << 20), Origin=device.house)[0] == status


def test_it_stops_cleanly_with_a_device_still_connected(server, device, house):
    device.sign_in()
    asked = time.monotonic()
    assert server.stop() == 0
    assert time.monotonic() - asked < 15  # asyncio alone would give a device that is asleep thirty seconds
    assert "everything is saved" in server.said
    assert "Traceback" not in server.said
    wal = house / "scopula.sqlite3-wal"
    assert not wal.exists() or wal.stat().st_size == 0
    with closing(sqlite3.connect(house / "scopula.sqlite3")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.parametrize(
    ("variables", "options", "words"),
    [
        ({}, ["--https"], "python3 manage.py up --https"),
        ({"SCOPULA_HTTPS": "1", "SCOPULA_PROXY": "127.0.0.1"}, ["--https"], "exclude each other"),
        ({"SCOPULA_HTTPS": "1"}, ["--https", "--https-port=70000"], "There is no port 70000"),
    ],
)
def test_what_cannot_be_started_is_a_sentence(house, monkeypatch, variables, options, words):
    seen = {**houses.environment(house), **variables}
    monkeypatch.setattr(houses, "environment", lambda folder: seen)
    refused = houses.run(house, "up", "--host=127.0.0.1", "--port=0", "--no-qr", *options, check=False)
    assert refused.returncode == 1
    assert words in refused.stderr
    assert "Traceback" not in refused.stderr
