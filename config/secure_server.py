"""The server under TLS: the program on one port, and on the plain one only the certificate and the way here.

Loaded by `up --https` alone, as are the two packages it needs.
"""

from __future__ import annotations

import asyncio
import logging
import signal
import socket
import ssl
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http.request import split_domain_port
from django.utils import timezone
from hypercorn.asyncio import serve as serve_asgi
from hypercorn.config import Config

from config import certificates, server
from config.plain_port import PAGE, PlainPort

FOLDER = "tls"
BACKLOG = 200
PATIENCE = 6.0  # seconds for answers in hand when the server ends
GOODBYE = 1.0  # seconds for a device's part of the farewell; asyncio would give one that is asleep thirty
AWAY = (TimeoutError, ConnectionError, ssl.SSLError, asyncio.CancelledError)
THREADS = 4  # as many as without TLS: each holds a connection to the database

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]


def house_names() -> list[str]:
    """Every name and address under which this house may be called now."""
    words = [name for name in settings.OUR_HOSTS if "/" not in name]
    return sorted({*words, *server.lan_addresses(), "127.0.0.1", "::1"})


def left_out() -> list[str]:
    """Those of them that the authority may not carry."""
    return [name for name in house_names() if not certificates.may_carry(name)]


def current() -> certificates.Kept:
    """The certificates for today's names."""
    return certificates.ensure(Path(settings.DATA_DIR) / FOLDER, house_names(), timezone.now())


class _Config(Config):
    """Keeps hold of the context, so that a renewed certificate is taken up without a restart."""

    context: ssl.SSLContext | None = None

    def create_ssl_context(self) -> ssl.SSLContext | None:
        self.context = super().create_ssl_context()
        return self.context


class SecureServer:
    """Two ports that are taken and do not answer yet."""

    def __init__(self, host: str, port: int, plain_port: int) -> None:
        self.kept = current()
        sockets = [_take(host, port), _take(host, plain_port)]
        self.port, self.plain_port = (taken.getsockname()[1] for taken in sockets)
        self.config = _Config()
        self.config.certfile, self.config.keyfile = str(self.kept.chain), str(self.kept.key)
        self.config.bind, self.config.insecure_bind = ([f"fd://{taken.detach()}"] for taken in sockets)
        self.config.alpn_protocols = ["http/1.1"]  # the same protocol as without TLS
        self.config.include_server_header = False
        self.config.wsgi_max_body_size = server.MOST_BODY
        self.config.keep_alive_timeout = self.config.read_timeout = 60
        self.config.backlog = BACKLOG
        self.config.graceful_timeout = PATIENCE / 2  # then answers in hand are cut off
        self.config.errorlog = logging.getLogger("hypercorn.error")
        self.config.errorlog.setLevel(logging.WARNING)
        self.config.errorlog.addFilter(_is_ours)

    def run(self) -> None:
        """Answer until a signal asks to stop."""
        asyncio.run(self._run())

    async def _run(self) -> None:
        loop, stop = asyncio.get_running_loop(), asyncio.Event()
        for name in server.SIGNALS:
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda *_: loop.call_soon_threadsafe(stop.set))
        loop.set_exception_handler(_say_what_is_ours)
        loop.create_server = _short_goodbyes(loop.create_server)  # type: ignore[method-assign]
        loop.set_default_executor(ThreadPoolExecutor(THREADS, "page"))
        serving = loop.create_task(serve_asgi(self._by_scheme(), self.config, shutdown_trigger=stop.wait, mode="wsgi"))
        asked = loop.create_task(stop.wait())
        await asyncio.wait({serving, asked}, return_when=asyncio.FIRST_COMPLETED)
        done, _ = await asyncio.wait({serving}, timeout=PATIENCE)
        for ended in done:
            ended.result()

    def _by_scheme(self) -> Application:
        from config.wsgi import application

        plain = PlainPort(self.port, self.kept.authority, self.kept.fingerprint)

        def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
            secure = environ["wsgi.url_scheme"] == "https"
            domain, _ = split_domain_port(environ.get("HTTP_HOST", ""))
            environ["scopula_ca_page"] = f"http://{domain}:{self.plain_port}{PAGE}"
            return _at_least_one((application if secure else plain)(environ, start_response))

        return answer

    def renew(self) -> None:
        """Take up a certificate for names and days that have changed since."""
        kept = current()
        if self.config.context:
            self.config.context.load_cert_chain(kept.chain, kept.key)

    def close(self) -> None:
        """The ports were closed when the run ended."""


def _at_least_one(body: Iterable[bytes]) -> Iterator[bytes]:
    """An answer without content has no parts, and hypercorn sends its head with the first."""
    try:
        yield b""
        yield from body
    finally:
        if hasattr(body, "close"):
            body.close()


def _short_goodbyes(create_server: Callable[..., Any]) -> Callable[..., Any]:
    """Hypercorn has no setting for it."""

    def create(*args: Any, ssl: ssl.SSLContext | None = None, **options: Any) -> Any:
        more = {"ssl_shutdown_timeout": GOODBYE} if ssl else {}
        return create_server(*args, ssl=ssl, **more, **options)

    return create


def _say_what_is_ours(loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
    """Log what went wrong here; a phone that fell asleep or left the wifi is nothing to log."""
    if not isinstance(context.get("exception"), AWAY):
        loop.default_exception_handler(context)


def _is_ours(record: logging.LogRecord) -> bool:
    """The same for what hypercorn logs itself."""
    return not (record.exc_info and isinstance(record.exc_info[1], AWAY))


def _take(host: str, port: int) -> socket.socket:
    """A bound socket. Raises NoPort with the reason."""
    server.refuse_taken(host, port)
    taken = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    try:
        taken.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        if not hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows means something else by it
            taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind((host, port))
        taken.listen(BACKLOG)  # whoever comes before the first answer waits
    except OSError as problem:
        taken.close()
        raise server.no_port(host, port, problem) from problem
    return taken
