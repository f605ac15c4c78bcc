"""A house of many enclosures under a name that browsers do not trust, and a wifi between it and the phone that fails.

`rack.test` is mapped to this machine by the browser. A name that leads to loopback is no secure context, as little as
an address in the home network is: no service worker, no `crypto.randomUUID`, no locks.
"""

import shutil
import signal
import socket
import sqlite3
import struct
import threading
import time
from collections import Counter
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from unittest.mock import patch

from tests.config import houses

NAME = "rack.test"
RESOLVE = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
PASSWORD = "clove-oak-29"
HTML = [("Content-Type", "text/html")]
PAGE = b"<!doctype html><title>%s</title><h1>%s</h1><form method=post><input name=password></form>"

STOCK = """
from datetime import date, timedelta
from django.contrib.auth.models import User
from django.utils import timezone
from collection import dues
from collection.models import Specimen, Taxon
from config.accounts import services
from husbandry.models import Enclosure, Feeding, Place, Stay
from husbandry.services import save_place
services.create_first_keeper("keeper", "{password}")
today = timezone.localdate()
services.admit_helper("helper", "{password}", today + timedelta(days=30))
taxa = list(Taxon.objects.filter(group="tarantula"))
rack = save_place(Place(name="Rack A"))
shelves = [save_place(Place(name=f"shelf {{n}}", kind="shelf", parent=rack, order=n)) for n in range(1, 9)]
animals = Specimen.objects.bulk_create(
    Specimen(code=f"S-{{n:03}}", taxon=taxa[n % len(taxa)], hatched_earliest=date(2019, 5, 1 + n % 28),
             hatched_latest=date(2019, 5, 1 + n % 28)) for n in range({size}))
boxes = Enclosure.objects.bulk_create(
    Enclosure(code=f"E-{{n:03}}", place=shelves[n * 8 // {size}], position=n % ({size} // 8) + 1)
    for n in range({size}))
Stay.objects.bulk_create(Stay(specimen=a, enclosure=e, begins=date(2020, 1, 1)) for a, e in zip(animals, boxes))
Feeding.objects.bulk_create(
    Feeding(specimen=a, on=today - timedelta(days=days), prey="roach nymph", prey_mm=15.0,
            outcome="refused" if (n + days) % 9 == 0 else "taken")
    for n, a in enumerate(animals) for days in range(5 + n % 4, 60, 7))
dues.refresh(a.pk for a in animals)
"""

# On the first shelf: S-001 lives with two others, S-002 is ill, and S-003 is a group of fourteen.
COMPANY = """
from datetime import timedelta
from django.utils import timezone
from collection import dues
from collection.models import GroupCount, Specimen
from collection.services import record_count
from husbandry.models import Enclosure, Hold
from husbandry.services import move, set_hold
today = timezone.localdate()
first = Specimen.objects.get(code="S-001")
for code in ("X-1", "X-2"):
    other = Specimen.objects.create(code=code, taxon=first.taxon)
    dues.refresh([other.pk])
    move(other, Enclosure.objects.get(code="E-001"), today - timedelta(days=90), companion=True)
set_hold(Hold(specimen=Specimen.objects.get(code="S-002"), kind="illness", begins=today - timedelta(days=1)))
Specimen.objects.filter(code="S-003").update(kind="communal")
record_count(GroupCount(specimen=Specimen.objects.get(code="S-003"), earliest=today, latest=today, count=14))
"""


def furnish(folder: Path, size: int) -> Path:
    """A migrated and seeded house with two people and so many animals, each in an enclosure of its own."""
    folder.mkdir(exist_ok=True)
    houses.run(folder, "migrate", "-v0")
    houses.run(folder, "seed_taxa")
    houses.run(folder, "shell", "-v0", "-c", STOCK.format(password=PASSWORD, size=size))
    return folder


class RackServer(houses.Server):
    """`up`, answering to `rack.test` as well."""

    def __init__(self, folder: Path, port: int) -> None:
        plain = houses.environment
        with patch.object(houses, "environment", lambda house: {**plain(house), "SCOPULA_HOSTS": NAME}):
            super().__init__(folder, f"--port={port}")
        self.started.remove(self)  # ends with its house


class RackHouse:
    """A copy of a furnished house with its server, which can be killed and started again on its port."""

    def __init__(self, template: Path, folder: Path) -> None:
        self.folder = shutil.copytree(template, folder)
        self.server = RackServer(self.folder, 0)
        self.url = f"http://{NAME}:{self.server.port}"

    def __enter__(self) -> "RackHouse":
        return self

    def __exit__(self, *error: object) -> None:
        if self.server.process.returncode is None:
            self.server.stop(signal.SIGKILL)

    def kill(self) -> None:
        """The server dies without a word."""
        self.server.stop(signal.SIGKILL)

    def start(self) -> None:
        """It comes back where it was."""
        self.server = RackServer(self.folder, self.server.port)

    def run(self, script: str) -> None:
        """Let the program do something beside the server."""
        houses.run(self.folder, "shell", "-v0", "-c", script)

    def rows(self, question: str) -> list[tuple]:
        """What is stored, read past the server."""
        with closing(sqlite3.connect(self.folder / "scopula.sqlite3", timeout=20)) as database:
            return database.execute(question).fetchall()


class Wifi(ThreadingHTTPServer):
    """A proxy before the server whose answers to taps go wrong in the way that `fault` names."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, upstream: int) -> None:
        super().__init__(("127.0.0.1", 0), Relay)
        self.upstream, self.fault, self.met = upstream, "", Counter()
        self.url = f"http://{NAME}:{self.server_port}"
        threading.Thread(target=self.serve_forever, args=(0.05,), daemon=True).start()

    def handle_error(self, request: object, client_address: object) -> None:
        """Broken connections are what it is for."""


class Relay(BaseHTTPRequestHandler):
    """One request on its way."""

    protocol_version = "HTTP/1.1"
    server: Wifi

    def log_message(self, *arguments: object) -> None:
        """Be quiet."""

    def do_GET(self) -> None:
        """Pages go through unharmed, as long as there is a server."""
        self.answer(*self.ask(None))

    def do_POST(self) -> None:
        """Forms go through; what is posted to a walk meets the fault of the moment."""
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        fault = self.server.fault if self.path.endswith("/taps/") else ""
        self.server.met[fault] += 1
        getattr(self, f"with_{fault}", self.without)(body)

    def without(self, body: bytes) -> None:
        """All is well."""
        self.answer(*self.ask(body))

    def with_lost(self, body: bytes) -> None:
        """The server has stored it, and the answer never arrives."""
        self.ask(body)
        self.cut()

    def with_half(self, body: bytes) -> None:
        """The answer breaks off in the middle."""
        status, headers, text = self.ask(body)
        self.answer(status, headers, text, sent=len(text) // 2)
        self.cut()

    def with_broken(self, body: bytes) -> None:
        """The server stores it, and then says that it failed."""
        self.ask(body)
        self.answer(500, HTML, b"<h1>Server error</h1>")

    def with_500(self, body: bytes) -> None:
        """The server fails before it stores anything."""
        self.answer(500, [("Content-Type", "text/plain")], b"no")

    def with_door(self, body: bytes) -> None:
        """A sign-in page, with 200, as of a program that redirects."""
        self.answer(200, HTML, PAGE % (b"Sign in", b"Sign in"))

    def with_portal(self, body: bytes) -> None:
        """The hotel's wifi answers everything itself, in JSON's clothes."""
        self.answer(200, [("Content-Type", "application/json")], PAGE % (b"Welcome", b"Accept the terms"))

    def with_led_away(self, body: bytes) -> None:
        """The hotel's wifi leads to its own page."""
        self.answer(302, [("Location", "/sign-in/")], b"")

    def with_reset(self, body: bytes) -> None:
        """The connection is reset before anything was sent on."""
        self.cut(reset=True)

    def with_slow(self, body: bytes) -> None:
        """Stored at once, answered when the phone has given up."""
        said = self.ask(body)
        time.sleep(5.5)
        self.answer(*said)

    def ask(self, body: bytes | None) -> tuple[int, list[tuple[str, str]], bytes]:
        """Hand the request on; a server that is gone cuts the phone off as well."""
        connection = HTTPConnection("127.0.0.1", self.server.upstream, timeout=20)
        try:
            connection.request(self.command, self.path, body, dict(self.headers.items()))
            response = connection.getresponse()
            return response.status, response.getheaders(), response.read()
        except (OSError, HTTPException):
            self.cut()
            raise
        finally:
            connection.close()

    def answer(self, status: int, headers: list[tuple[str, str]], text: bytes, sent: int | None = None) -> None:
        """Send an answer back as it came, or only so many bytes of it."""
        self.send_response_only(status)
        for name, value in headers:
            if name.lower() not in {"connection", "transfer-encoding", "content-length"}:
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        self.wfile.write(text[:sent])

    def cut(self, reset: bool = False) -> None:
        """End the connection without a word, or with a reset."""
        self.close_connection = True
        if reset:
            self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            self.connection.close()
        else:
            self.connection.shutdown(socket.SHUT_RDWR)
