"""The invented climate: a room with six sensors, one of them tested with salt, one silent, one in trouble."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from husbandry.climate_services import states
from husbandry.models import Calibration, Device, Enclosure, Place, Posting, Reading, Refusal, Sensor

if TYPE_CHECKING:
    from config.demo.load import Builder

DAYS = 21
EVERY = 60 * 60  # seconds
SEED = 20_260_302


@dataclass(frozen=True)
class Air:
    """How the air at one sensor goes: its mean, its swing over a day, and how the sensor errs."""

    name: str
    where: str
    celsius: float
    swing: float
    humidity: float
    sway: float
    spot: str = "air"
    silent_days: float = 0.0
    own: tuple[tuple[str, float], ...] = ()


ROOM = "Back room, by the door"
ROOM_BAND = (("celsius_min", 20), ("celsius_max", 28), ("humidity_min", 40), ("humidity_max", 65))
AIRS = (
    Air(ROOM, "Back room", 23.4, 1.6, 51.0, 5.0, own=ROOM_BAND),
    Air("Rack A, top shelf", "A1", 24.6, 1.3, 60.0, 3.5),
    Air("Rack B, top shelf", "B1", 24.9, 1.2, 67.0, 3.0, silent_days=3.2),
    Air("Tray of cups", "Tray", 24.7, 1.1, 70.0, 3.0),
    Air("In the box of T-004", "E-T-004", 24.8, 0.7, 79.0, 2.0, spot="substrate"),
    Air("In the box of K-001", "E-K-001", 25.9, 0.8, 80.0, 2.0, spot="substrate"),
)
COLD_NIGHT = 6  # days ago somebody left the window open
DRY_HOURS = 30  # so long the box of the dry sensor has been drying out
DRY = "In the box of T-004"
HOUR = 3600


def build(builder: Builder) -> None:
    """Sensors, where they hang, a salt test, readings of three weeks, and what alarms came of them."""
    until = _until(builder.today)
    begins = until - timedelta(days=DAYS)
    [hub] = builder.keep([Device(name="Hub by the door", token_hash="0" * 64, hint="none", made_at=begins)])
    sensors = builder.keep([_sensor(air, number, hub) for number, air in enumerate(AIRS)])
    builder.keep([_posting(air, sensor, begins) for air, sensor in zip(AIRS, sensors, strict=True)])
    builder.keep([_test(sensors[0], until - timedelta(days=10))])
    rng = Random(SEED)
    for air, sensor in zip(AIRS, sensors, strict=True):
        rows = _measured(air, int(begins.timestamp()), int(until.timestamp()), rng)
        Reading.objects.bulk_create(
            [Reading(sensor=sensor, at=at, celsius=celsius, humidity=humidity) for at, celsius, humidity in rows],
            batch_size=500,
        )
        states.refresh({sensor: rows})
    _refused(sensors[1], until)


def _until(today: date) -> datetime:
    """The last full hour of today, or noon of any other day."""
    now = timezone.localtime()
    if now.date() != today:
        return timezone.make_aware(datetime.combine(today, time(12)))
    return now.replace(minute=0, second=0, microsecond=0)


def _sensor(air: Air, number: int, hub: Device) -> Sensor:
    return Sensor(
        name=air.name,
        key=f"sensor-{number + 1}",
        device=hub if air.spot == "air" else None,
        every_minutes=EVERY // 60,
        overdue_minutes=25 * 60,  # an invented sensor says nothing new until the next start
        **dict(air.own),
    )


def _posting(air: Air, sensor: Sensor, since: datetime) -> Posting:
    """In the box of that code, else at the place of that name, or whose name begins so."""
    box = Enclosure.objects.filter(code=air.where).first()
    place = None if box else Place.objects.filter(name__startswith=air.where).first()
    return Posting(sensor=sensor, enclosure=box, place=place, spot=air.spot, since=since)


def _test(sensor: Sensor, since: datetime) -> Calibration:
    """Two jars: it reads too low in dry air, and nearly right in damp."""
    return Calibration(
        sensor=sensor, since=since, celsius=22.5, salt_1="MgCl2", shown_1=28.9, salt_2="NaCl", shown_2=73.6
    )


def _measured(air: Air, begins: int, until: int, rng: Random) -> list[states.Measured]:
    """Warm by day, damp by night, with a sensor's unrest; some hours are missing, as they are in life."""
    rows: list[states.Measured] = []
    last = until - int(air.silent_days * 24 * HOUR)
    drift = 0.0
    for at in range(begins, last + 1, EVERY):
        drift = 0.97 * drift + rng.gauss(0, 0.17)
        if rng.random() < 0.006 or (air.name == ROOM and 12 < (until - at) / (24 * HOUR) < 12.6):
            continue
        phase = math.sin(2 * math.pi * ((at / HOUR) % 24 - 9) / 24)
        celsius = air.celsius + air.swing * phase + drift - _cold(air, at, until)
        humidity = air.humidity - air.sway * phase - 2 * drift - _dry(air, at, until) + rng.gauss(0, 0.5)
        rows.append((at, round(celsius * 100), round(min(max(humidity, 5.0), 99.0) * 100)))
    return rows


def _cold(air: Air, at: int, until: int) -> float:
    """An open window in one night: the nearer the door, the colder."""
    hours = (until - at) / HOUR - 24 * COLD_NIGHT
    return (7.0 if air.name == ROOM else 5.2 if "shelf" in air.name else 1.0) * math.exp(-((hours / 4) ** 2))


def _dry(air: Air, at: int, until: int) -> float:
    hours = DRY_HOURS - (until - at) / HOUR
    return 0.5 * hours if air.name == DRY and hours > 0 else 0.0


def _refused(sensor: Sensor, until: datetime) -> None:
    """What a restart of the hub once sent."""
    said: dict[str, Any] = {"first_at": until - timedelta(days=9), "last_at": until - timedelta(days=2)}
    Refusal.objects.create(
        key=f"{sensor.pk}:0:past",
        sensor=sensor,
        reason="past",
        count=14,
        said="The sensor’s clock stands before 2010: it was never set.",
        **said,
    )
