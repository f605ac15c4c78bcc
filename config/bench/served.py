"""A server of its own on the loopback: start-up, memory at rest, weight of the first page, answers over http."""

from __future__ import annotations

import http.client
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

from config.bench.pages import spread

MANAGE = Path(__file__).resolve().parent.parent.parent / "manage.py"
PATIENCE = 180.0
LOG = "bench-server.log"
ASSETS = re.compile(rb'(?:href|src)="(/static/[^"]+\.(?:css|js))"')
TOKEN = re.compile(rb'name="csrfmiddlewaretoken" value="([^"]+)"')


@dataclass(frozen=True)
class Served:
    """What one served collection needs and how it answers."""

    start_seconds: float
    memory_mib: float | None
    html_bytes: int
    assets_bytes: int
    dashboard: tuple[float, float]
    feed: tuple[float, float]


class Browser:
    """A browser with one connection kept open, cookies, and compressed answers."""

    def __init__(self, port: int) -> None:
        self.http = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        self.cookies: dict[str, str] = {}

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, bytes]:
        """Status and body as it came over the wire."""
        headers = {"Accept-Encoding": "br, gzip", "Origin": f"http://127.0.0.1:{self.http.port}"}
        headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        body = urlencode(form) if form is not None else None
        if body is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        self.http.request("POST" if form is not None else "GET", path, body, headers)
        answer = self.http.getresponse()
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies.update({name: morsel.value for name, morsel in SimpleCookie(line).items()})
        return answer.status, answer.read()

    def sign_in(self, username: str, password: str) -> None:
        """As a keeper does."""
        status, _ = self.ask("/sign-in/", {**self.token("/sign-in/"), "username": username, "password": password})
        if status != 302:
            raise RuntimeError(f"signing in answered {status}")

    def token(self, path: str) -> dict[str, str]:
        """The token of a page's form."""
        found = TOKEN.search(self.plain(path))
        return {"csrfmiddlewaretoken": found[1].decode()} if found else {}

    def plain(self, path: str) -> bytes:
        """A page uncompressed."""
        self.http.request("GET", path, headers={"Cookie": "; ".join(f"{n}={v}" for n, v in self.cookies.items())})
        answer = self.http.getresponse()
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies.update({name: morsel.value for name, morsel in SimpleCookie(line).items()})
        return answer.read()


def free_port() -> int:
    """A port nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def server(arguments: list[str], port: int, data: Path) -> Iterator[tuple[subprocess.Popen[bytes], float]]:
    """A server process and the seconds from its start to its first answered page; ended at once afterwards."""
    begun = time.perf_counter()
    environment = {**os.environ, "SCOPULA_DATA": str(data)}
    with open(data / LOG, "ab") as log:
        process = subprocess.Popen([sys.executable, str(MANAGE), *arguments], env=environment, stdout=log, stderr=log)
    try:
        yield process, _first_answer(process, port, begun, data / LOG)
    finally:
        process.kill()  # its data is thrown away; asked politely it would finish a backup first
        process.wait()


def _first_answer(process: subprocess.Popen[bytes], port: int, begun: float, log: Path) -> float:
    while process.poll() is None and time.perf_counter() - begun < PATIENCE:
        try:
            if Browser(port).ask("/sign-in/")[0] == 200:
                return time.perf_counter() - begun
        except OSError:
            time.sleep(0.02)
    said = " ".join(log.read_text(encoding="utf-8", errors="replace").split()[-60:])
    raise RuntimeError(f"the server did not answer; it said: {said}")


def measure(data: Path, sign_in: tuple[str, str], animal: int, runs: int) -> Served:
    """Start as a keeper does, look once, weigh; then time the answers of a server that does nothing else."""
    with _up(data):
        pass  # the first start after an update builds the styles; what counts is every later one
    with _up(data) as (process, seconds, port):
        browser = Browser(port)
        browser.sign_in(*sign_in)
        html, assets = _weigh(browser)
        memory = resident(process.pid)
    port = free_port()
    with server(["bench", "--serve", str(port)], port, data):
        browser = Browser(port)
        browser.sign_in(*sign_in)
        token = browser.token("/")
        dashboard = spread(lambda: browser.ask("/"), runs)[:2]
        feed = spread(lambda: _feed(browser, animal, token), runs)[:2]
    return Served(seconds, memory, html, assets, dashboard, feed)


@contextmanager
def _up(data: Path) -> Iterator[tuple[subprocess.Popen[bytes], float, int]]:
    """The server as a keeper starts it."""
    port = free_port()
    with server(["up", "--host", "127.0.0.1", "--port", str(port), "--no-qr"], port, data) as (process, seconds):
        yield process, seconds, port


def _feed(browser: Browser, animal: int, token: dict[str, str]) -> None:
    status, _ = browser.ask(f"/animals/{animal}/fed/", {**token, "once": os.urandom(16).hex(), "outcome": "taken"})
    if status != 302:
        raise RuntimeError(f"a feed answered {status}")


def _weigh(browser: Browser) -> tuple[int, int]:
    """Bytes over the wire of the first page, and of the styles and scripts that it names."""
    status, html = browser.ask("/")
    if status != 200:
        raise RuntimeError(f"the first page answered {status}")
    names = set(ASSETS.findall(browser.plain("/")))
    return len(html), sum(len(browser.ask(name.decode())[1]) for name in names)


def resident(pid: int) -> float | None:
    """Memory of a process in MiB; None where this system does not tell."""
    status = Path(f"/proc/{pid}/status")
    if status.exists():
        found = re.search(r"VmRSS:\s+(\d+) kB", status.read_text(encoding="ascii"))
        return int(found[1]) / 1024 if found else None
    try:
        import psutil
    except ImportError:
        return None
    return float(psutil.Process(pid).memory_info().rss) / 2**20
