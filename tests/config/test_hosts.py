"""Which names the server answers to: any address of the home network, and the names its keeper wrote down."""

import pytest
from django.test import Client

from config.hosts import is_ours

NAMES = {"localhost", "rack.local"}


@pytest.mark.parametrize(
    "host",
    [
        "192.168.1.20:8000",
        "192.168.1.77",
        "10.0.0.5",
        "172.16.4.4:8000",
        "[fe80::1]:8000",
        "[fd00::2]",
        "127.0.0.1:8000",
        "[::1]",
        "RACK.local:8000",
        "rack.local.",
        "localhost:8000",
    ],
)
def test_home_addresses_and_known_names_are_answered(host):
    assert is_ours(host, NAMES)


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "192.168.1.20.nip.example",
        "rack.local.evil.example",
        "8.8.8.8",
        "[2001:4860:4860::8888]",
        "0.0.0.0",
        "100.64.0.9",
        "a b",
        "",
    ],
)
def test_everything_else_is_refused(host):
    assert not is_ours(host, NAMES)


def test_an_overlay_network_is_answered_when_its_range_is_written_down():
    assert is_ours("100.64.0.9", {"100.64.0.0/10"})


def test_the_refusal_names_the_setting_and_what_to_write():
    response = Client(headers={"Host": "tarantulas.example"}).get("/sign-in/")
    assert response.status_code == 400
    assert b"SCOPULA_HOSTS=tarantulas.example" in response.content


def test_the_refused_name_cannot_carry_markup():
    response = Client(headers={"Host": "<script>x"}).get("/sign-in/")
    assert response.status_code == 400
    assert b"<script>" not in response.content
