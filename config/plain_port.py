"""The plain port of a house under TLS: the authority's certificate, and the way to the other port."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.http.request import split_domain_port
from django.template.loader import render_to_string

from config.hosts import is_ours

PAGE, FILE, LOOK = "/ca", "/ca/scopula.crt", "/ca/look.css"
STYLE = (
    "body{max-width:38rem;margin:0 auto;padding:1rem;font:1.0625rem/1.5 sans-serif}code{font-size:1.125rem;"
    "overflow-wrap:anywhere}a{display:inline-block;min-height:3rem;padding:.5rem 0}li{padding:.25rem 0}"
)
POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; frame-ancestors 'none'"

StartResponse = Callable[[str, list[tuple[str, str]]], Any]


@dataclass(frozen=True)
class PlainPort:
    """A WSGI application; `port` is the one under TLS."""

    port: int
    authority: bytes
    fingerprint: str

    def __call__(self, environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        host = environ.get("HTTP_HOST", "")
        if not is_ours(host, settings.OUR_HOSTS):
            page = render_to_string("wrong_host.html", {"domain": split_domain_port(host)[0]})
            return _answer(start_response, "400 Bad Request", page.encode())
        domain, _ = split_domain_port(host)
        house = f"https://{domain}:{self.port}"
        path = environ.get("PATH_INFO", "/")
        if environ["REQUEST_METHOD"] in {"GET", "HEAD"}:
            if path.rstrip("/") == PAGE:
                return _answer(start_response, "200 OK", self._page(house).encode())
            if path == FILE:
                return _answer(start_response, "200 OK", self.authority, "application/x-x509-ca-cert")
            if path == LOOK:
                return _answer(start_response, "200 OK", STYLE.encode(), "text/css; charset=utf-8")
        return _answer(start_response, "307 Temporary Redirect", b"", there=house + _rest(environ))

    def _page(self, house: str) -> str:
        context = {"house": f"{house}/", "fingerprint": self.fingerprint, "file": FILE, "style": LOOK}
        return render_to_string("config/certificate.html", context)


def _rest(environ: dict[str, Any]) -> str:
    """Path and query as they came."""
    path = quote(environ.get("PATH_INFO", "/").encode("latin-1"))
    query = environ.get("QUERY_STRING", "")
    return f"/{path.lstrip('/')}" + (f"?{query}" if query else "")


def _answer(
    start_response: StartResponse,
    status: str,
    body: bytes,
    kind: str = "text/html; charset=utf-8",
    there: str = "",
) -> Iterable[bytes]:
    headers = [
        ("Content-Type", kind),
        ("Content-Length", str(len(body))),
        ("Cache-Control", "no-store"),  # the house may be without TLS tomorrow
        ("Content-Security-Policy", POLICY),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "same-origin"),
    ]
    start_response(status, [*headers, ("Location", there)] if there else headers)
    return [body]
