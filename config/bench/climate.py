"""A year of readings of many sensors, and how fast their pages are then."""

from __future__ import annotations

import json
import math
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from random import Random

from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from config import startup, static_files
from config.accounts import services
from config.bench.pages import spread
from husbandry.climate_services import devices, states
from husbandry.models import Place, Posting, Reading, Sensor
from husbandry.services import save_place

EVERY = 600
PROMISED_MONTH = 150.0  # ms
PROMISED_SIZE = 100.0  # MiB for 40 sensors and a year
RUNS = 20


@dataclass(frozen=True)
class Found:
    """One page: its name, median and 95th percentile in ms, work of this process in ms, queries."""

    page: str
    p50: float
    p95: float
    work: float
    queries: int


def measure(sensors: int, days: int) -> str:
    """Fill the database of this process, measure, and return the table."""
    startup.make_folder()
    call_command("migrate", verbosity=0, interactive=False)
    static_files.build_if_changed()
    services.create_first_keeper("keeper", "bench-only-clove-29")
    before, begun = _size(), time.perf_counter()
    rows = fill(sensors, days)
    seconds, grown = time.perf_counter() - begun, (_size() - before) / 2**20
    found = list(_timings())
    lines = [f"{rows:,} readings of {sensors} sensors: {grown:.0f} MiB on disk, filled in {seconds:.0f} s"]
    if sensors == 40 and days >= 365:
        lines.append(f"promised ≤ {PROMISED_SIZE:g} MiB: {'kept' if grown <= PROMISED_SIZE else 'MISSED'}")
    lines.append("page                         p50 ms   p95 ms  work ms  queries")
    lines += [f"{one.page:<26} {one.p50:>8.1f} {one.p95:>8.1f} {one.work:>8.1f} {one.queries:>8}" for one in found]
    month = found[0]
    kept = month.p50 <= PROMISED_MONTH
    load = f"; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores" if hasattr(os, "getloadavg") else ""
    lines.append(f"a month of one sensor promised ≤ {PROMISED_MONTH:g} ms: {'kept' if kept else 'MISSED'}{load}")
    return "\n".join(lines)


def _size() -> int:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return Path(str(connection.settings_dict["NAME"])).stat().st_size


def fill(sensors: int, days: int) -> int:
    """Sensors in one room, a reading every ten minutes up to now; returns how many."""
    room = save_place(Place(name="Room", kind="room"))
    now = int(timezone.now().timestamp()) // EVERY * EVERY
    begins = now - days * 86_400
    since = timezone.now() - timedelta(days=days)
    for number in range(sensors):
        sensor = Sensor.objects.create(name=f"Sensor {number}", key=f"s{number}", celsius_min=22, celsius_max=27)
        Posting.objects.create(sensor=sensor, place=room, since=since)
        rows = (Reading(sensor=sensor, at=a, celsius=c, humidity=h) for a, c, h in _air(number, begins, now))
        Reading.objects.bulk_create(rows, batch_size=5000)
        states.rebuild([sensor.pk])
    return Reading.objects.count()


def _air(number: int, begins: int, now: int) -> Iterator[tuple[int, int, int]]:
    rng = Random(number)
    for at in range(begins, now + 1, EVERY):
        wave = math.sin(2 * math.pi * at / 86_400)
        yield at, 2450 + round(150 * wave + rng.gauss(0, 20)), 6500 - round(400 * wave + rng.gauss(0, 60))


def _timings() -> Iterator[Found]:
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(User.objects.get(username="keeper"))
    sensor, room = Sensor.objects.get(key="s0").pk, Place.objects.get().pk
    pages = {
        "a month of one sensor": f"/racks/climate/{sensor}/?range=month",
        "a week of one sensor": f"/racks/climate/{sensor}/?range=week",
        "a year of one sensor": f"/racks/climate/{sensor}/?range=year",
        "a month of six sensors": f"/racks/{room}/climate/?range=month",
        "all sensors": "/racks/climate/",
        "dashboard": "/",
    }
    for name, address in pages.items():
        yield _found(name, lambda address=address: _checked(client.get(address).status_code))  # type: ignore[misc]
    yield _found("one reading taken in", _sender())


def _sender() -> Callable[[], None]:
    """A device that sends a reading of an hour that has none, each time another."""
    _, token = devices.admit("bench")
    first = int((timezone.now() - timedelta(days=3000)).timestamp())
    sent = iter(range(first, first + 10**6, 60))
    headers = {"Authorization": f"Bearer {token}", "host": "127.0.0.1"}

    def send() -> None:
        body = json.dumps({"sensor": "s0", "at": next(sent), "temperature": 24.5, "humidity": 61})
        _checked(Client(headers=headers).post("/api/readings", body, content_type="application/json").status_code)

    return send


def _checked(status: int) -> None:
    if status != 200:
        raise RuntimeError(f"answered {status}")


def _found(page: str, act: Callable[[], object]) -> Found:
    p50, p95, work = spread(act, RUNS)
    with CaptureQueriesContext(connection) as captured:
        act()
    return Found(page, p50, p95, work, len(captured))
