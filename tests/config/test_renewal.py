"""A server that runs for long: a new address and a certificate near its end are taken up without a restart."""

import ssl
from contextlib import closing
from datetime import timedelta
from socket import socket

import pytest
import time_machine
from django.utils import timezone

from config import secure_server, server
from tests.config.test_certificates import shake_hands


@pytest.fixture
def running(settings, tmp_path, monkeypatch):
    """A server whose ports are taken and whose context is in use."""
    settings.DATA_DIR = tmp_path
    monkeypatch.setattr(server, "lan_addresses", list)
    made = secure_server.SecureServer("127.0.0.1", 0, 0)
    assert made.config.create_ssl_context()
    yield made
    for place in [*made.config.bind, *made.config.insecure_bind]:
        with closing(socket(fileno=int(place.removeprefix("fd://")))):
            pass


def test_a_new_address_is_taken_up(running, monkeypatch):
    def ask() -> ssl.SSLError | None:
        return shake_hands(running.config.context, running.kept.authority, "192.168.9.9")

    assert "mismatch" in str(ask())
    monkeypatch.setattr(server, "lan_addresses", lambda: ["192.168.9.9"])
    running.renew()
    assert ask() is None


def test_a_certificate_near_its_end_is_renewed_and_the_authority_stays(running):
    before = running.kept.chain.read_bytes()
    with time_machine.travel(timezone.now() + timedelta(days=370)):
        running.renew()
        assert running.kept.chain.read_bytes() != before
        refusal = shake_hands(running.config.context, running.kept.authority, "localhost")
    assert "not yet valid" in str(refusal)  # OpenSSL has a clock of its own: so it was shown the new one


def test_names_of_no_home_network_are_told_and_not_carried(settings, tmp_path, monkeypatch):
    settings.OUR_HOSTS = {"localhost", "rack", "rack.local", "house.example", "100.64.0.0/10"}
    monkeypatch.setattr(server, "lan_addresses", lambda: ["192.168.1.20"])
    assert secure_server.left_out() == ["house.example", "rack"]
    assert "100.64.0.0/10" not in secure_server.house_names()
