"""Which names this server answers to. Stops a web page that re-points its own name at our address (DNS rebinding).

Addresses change at home, so every private address is right; a name is right only when the keeper wrote it down.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Collection

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.http.request import split_domain_port
from django.shortcuts import render

# Not private to the standards, and some providers route it: only when SCOPULA_HOSTS names the range.
OVERLAY_VPN = ipaddress.ip_network("100.64.0.0/10")


def is_ours(host: str, names: Collection[str]) -> bool:
    """Whether a Host header is an address that cannot be re-pointed, or one of our names.

    >>> is_ours("192.168.1.20:8000", []), is_ours("rack.local.", ["rack.local"]), is_ours("8.8.8.8", [])
    (True, True, False)
    """
    domain, _ = split_domain_port(host)
    try:
        address = ipaddress.ip_address(domain.strip("[]"))
    except ValueError:
        return bool(domain) and domain in names
    if address in OVERLAY_VPN:
        return str(OVERLAY_VPN) in names
    return not address.is_unspecified and (address.is_private or address.is_loopback or address.is_link_local)


class HostsMiddleware:
    """First of all: a request under a foreign name gets the name of the setting, and nothing else."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        host = request.META.get("HTTP_HOST", request.META.get("SERVER_NAME", ""))
        if is_ours(host, settings.OUR_HOSTS):
            return self.get_response(request)
        domain, _ = split_domain_port(host)
        return render(request, "wrong_host.html", {"domain": domain}, status=400)
