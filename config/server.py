"""The server itself: the port, the addresses to print, and a clean end."""

from __future__ import annotations

import errno
import io
import ipaddress
import signal
import socket
from contextlib import suppress
from types import FrameType
from typing import Any

import waitress
from django.conf import settings
from django.db import connection

SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
MOST_BODY = 32 * 1024 * 1024  # a phone's photo, with room


class NoPort(Exception):
    """Said in the terminal, word for word."""


def open_port(host: str, port: int) -> Any:
    """Take the port and return the server, which does not answer yet. Raises NoPort with the reason."""
    refuse_taken(host, port)
    from config.wsgi import application

    proxy = settings.TRUSTED_PROXY
    try:
        return waitress.create_server(
            application,
            host=host,
            port=port,
            threads=4,
            ident=None,
            max_request_body_size=MOST_BODY,
            channel_timeout=60,
            connection_limit=200,
            trusted_proxy=proxy or None,
            trusted_proxy_headers={"x-forwarded-for", "x-forwarded-proto"} if proxy else set(),
            clear_untrusted_proxy_headers=bool(proxy),  # without a proxy they betray one that was not declared
        )
    except OSError as problem:
        raise no_port(host, port, problem) from problem


def refuse_taken(host: str, port: int) -> None:
    """Raises NoPort for a port that does not exist, or behind which somebody answers already."""
    if not 0 <= port <= 65535:
        raise NoPort(f"There is no port {port}. Choose one from 1024 to 65535, for example: --port 8000")
    if port and host in {"0.0.0.0", "127.0.0.1", "localhost"} and _answers(port):
        raise no_port(host, port, OSError(errno.EADDRINUSE, "in use"))


def no_port(host: str, port: int, problem: OSError) -> NoPort:
    """Why this port cannot be had, and what to do."""
    if problem.errno == errno.EADDRINUSE:
        return NoPort(f"Port {port} is taken. Choose another, for example: --port {port + 1}")
    return NoPort(f"{host}, port {port}, cannot be opened: {problem.strerror or problem}.")


def _answers(port: int) -> bool:
    """Whether somebody listens: Windows would let two servers share a port without a word."""
    with socket.socket() as probe:
        probe.settimeout(0.5)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def addresses(host: str, port: int, scheme: str = "http") -> list[str]:
    """The URLs under which this machine can be reached, the one for phones first."""
    names = lan_addresses() if host == "0.0.0.0" else [host]
    if host == "0.0.0.0":
        names.append("127.0.0.1")
    return [f"{scheme}://{f'[{name}]' if ':' in name else name}:{port}/" for name in names]


def lan_addresses() -> list[str]:
    """This machine's addresses in the home network, the one on the way out first. Sends nothing."""
    found: list[str] = []
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:  # fails without a network
        probe.connect(("192.0.2.1", 9))  # for documentation only (RFC 5737); a datagram socket merely picks its route
        found.append(probe.getsockname()[0])
    with suppress(OSError):  # a machine need not know its own name
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return [name for name in dict.fromkeys(found) if not ipaddress.ip_address(name).is_loopback]


def qr(url: str) -> str:
    """The address as a code for the phone's camera, drawn in letters."""
    import segno  # only for the start: the server at rest holds nothing it does not need

    drawing = io.StringIO()
    segno.make(url, error="l", micro=False).terminal(drawing, border=2, compact=True)
    return drawing.getvalue()


def serve(server: Any) -> None:
    """Answer until Ctrl-C or the system asks to stop."""
    heed_signals()
    try:
        server.run()
    finally:
        server.close()


def heed_signals() -> None:
    """Stop when asked to, from the first moment on; started in the background, SIGINT would be deaf."""
    for name in SIGNALS:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stop)


def _stop(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def checkpoint() -> None:
    """Fold the write-ahead log into the database, so that the one file is all there is."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout=3000")  # whoever still holds it is about to be cut off
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
