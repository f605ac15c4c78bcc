"""The plain port of a house under TLS: two answers, and a refusal."""

import re

import pytest

from config.plain_port import PlainPort

PLAIN = PlainPort(8443, b"-----BEGIN CERTIFICATE-----", "AA:BB")


def ask(path: str, host: str = "192.168.1.20:8000", method: str = "GET", query: str = ""):
    """Status, headers and text of one answer."""
    told = []
    environ = {"REQUEST_METHOD": method, "PATH_INFO": path, "QUERY_STRING": query, "HTTP_HOST": host}
    body = b"".join(PLAIN(environ, lambda status, headers: told.append((status, dict(headers)))))
    return int(told[0][0].split()[0]), told[0][1], body.decode()


@pytest.mark.parametrize("path", ["/ca", "/ca/"])
def test_the_page_shows_the_fingerprint_and_where_to_get_the_certificate(path):
    status, headers, text = ask(path)
    assert status == 200
    assert "AA:BB" in text
    assert 'href="/ca/scopula.crt"' in text
    assert 'href="https://192.168.1.20:8443/"' in text
    assert "default-src 'none'; style-src 'self'" in headers["Content-Security-Policy"]
    assert ask(re.search(r'rel="stylesheet" href="([^"]+)"', text)[1])[1]["Content-Type"] == "text/css; charset=utf-8"


def test_the_certificate_is_handed_out():
    status, headers, text = ask("/ca/scopula.crt")
    assert (status, text) == (200, "-----BEGIN CERTIFICATE-----")
    assert headers["Content-Type"] == "application/x-x509-ca-cert"


@pytest.mark.parametrize("method", ["GET", "HEAD", "POST"])
@pytest.mark.parametrize("path", ["/", "/sign-in/", "/static/look.css", "/Q/T7RA9K2B", "/walks/1/taps/", "/cab"])
def test_everything_else_is_sent_to_the_other_port_and_nothing_is_remembered_of_it(path, method):
    status, headers, text = ask(path, method=method)
    assert (status, text) == (307, "")
    assert headers["Location"] == f"https://192.168.1.20:8443{path}"
    assert headers["Cache-Control"] == "no-store"
    assert "Strict-Transport-Security" not in headers


@pytest.mark.parametrize(
    ("host", "path", "query", "there"),
    [
        ("rack.local:8000", "/find/", "q=a%20b", "https://rack.local:8443/find/?q=a%20b"),
        ("[fe80::1]:8000", "//evil.example/x", "", "https://[fe80::1]:8443/evil.example/x"),
        ("localhost", "/a b\r\nSet-Cookie: x", "", "https://localhost:8443/a%20b%0D%0ASet-Cookie%3A%20x"),
    ],
)
def test_the_way_stays_in_this_house(settings, host, path, query, there):
    settings.OUR_HOSTS = {"rack.local", "localhost"}
    assert ask(path, host, query=query)[1]["Location"] == there


@pytest.mark.parametrize("host", ["evil.example", "8.8.8.8", "", "rack.local.evil.example"])
@pytest.mark.parametrize("path", ["/", "/ca", "/ca/scopula.crt"])
def test_a_foreign_name_gets_neither(host, path):
    status, headers, text = ask(path, host)
    assert status == 400
    assert "Location" not in headers
    assert "SCOPULA_HOSTS" in text
