"""Readings on their way in, whatever way they come: sound ones are kept once, others are refused and counted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from collection import receipts
from husbandry import intake
from husbandry.climate_services import refusals, states
from husbandry.intake import Held, Incoming, Reason, Refused
from husbandry.models import Device, Reading, ReadingBatch, Sensor

MOST_READINGS = 10_000  # in one message
NOT_KNOWN = "No sensor of this name is on record: add it under Climate, or correct the name."
NOT_YOURS = "This sensor belongs to another device."


@dataclass
class Answer:
    """What became of a message: how many were stored, how many were there already, which were refused and why."""

    stored: int = 0
    repeated: int = 0
    refused: list[tuple[int, Reason, str]] = field(default_factory=list)
    causes: dict[refusals.Cause, tuple[int, str]] = field(default_factory=dict)

    def refuse(self, position: int, reason: Reason, sentence: str, sensor: int | None, device: int | None) -> None:
        """One reading is not taken."""
        self.refused.append((position, reason, sentence))
        cause = (sensor, device, reason)
        self.causes[cause] = (self.causes.get(cause, (0, ""))[0] + 1, sentence)


def take_messages(
    messages: Sequence[Any],
    now: datetime,
    device: Device | None = None,
    read: Callable[[Any, int], Incoming] = intake.read_message,
) -> Answer:
    """Take in what a device or a broker sent, each message by `read`; the sound ones are kept."""
    answer, sound = Answer(), []
    bad: list[tuple[int, Refused, str]] = []
    sender = device.pk if device else None
    seconds = int(now.timestamp())
    for position, message in enumerate(messages):
        if position >= MOST_READINGS:
            sentence = f"A message holds at most {MOST_READINGS:,} readings; send the rest in another."
            answer.refuse(position, Reason.TOO_LARGE, sentence, None, sender)
            continue
        try:
            sound.append((position, read(message, seconds)))
        except Refused as refusal:
            bad.append((position, refusal, _named(message)))
    known = dict(Sensor.objects.filter(key__in={name for *_, name in bad if name}).values_list("key", "pk"))
    for position, refused, name in bad:
        answer.refuse(position, refused.reason, str(refused), known.get(name), sender)
    with transaction.atomic():
        _take(sound, answer, device, None)
        refusals.count(answer.causes, now)
    return answer


def _named(message: Any) -> str:
    """The sensor that a refused message speaks of, by its name there; nothing where it names none."""
    name = message.get("sensor") if isinstance(message, dict) else None
    text = name.strip().casefold()[: intake.LONGEST_NAME] if isinstance(name, str) else ""
    return text if text.isprintable() else ""


def take_by_hand(batch: ReadingBatch, celsius: float | None, humidity: float | None, at: datetime) -> Answer:
    """What the keeper read off; the batch makes it an entry that can be taken back. Raises Refused."""
    now = timezone.now()
    one = intake.sound(batch.sensor.key, int(at.timestamp()), celsius, humidity, int(now.timestamp()))
    answer = Answer()
    with transaction.atomic():
        batch.save()
        _take([(0, one)], answer, None, batch)
        receipts.note(f"Reading of {batch.sensor}")
    return answer


def _take(
    sound: Sequence[tuple[int, Incoming]], answer: Answer, device: Device | None, batch: ReadingBatch | None
) -> None:
    """Keep sound readings, sensor by sensor."""
    keys = {one.sensor.casefold() for _, one in sound}
    sensors = {sensor.key: sensor for sensor in Sensor.objects.in_use().filter(key__in=keys)}
    by_sensor: dict[Sensor, list[tuple[int, Incoming]]] = defaultdict(list)
    sender = device.pk if device else None
    for position, one in sound:
        sensor = sensors.get(one.sensor.casefold())
        if sensor is None:
            answer.refuse(position, Reason.SENSOR, NOT_KNOWN, None, sender)
        elif device is not None and sensor.device_id not in (None, device.pk):
            answer.refuse(position, Reason.NOT_YOURS, NOT_YOURS, sensor.pk, sender)
        else:
            by_sensor[sensor].append((position, one))
    news: dict[Sensor, list[states.Measured]] = {}
    for sensor, theirs in by_sensor.items():
        news[sensor] = _keep(sensor, theirs, answer, sender, batch)
    states.refresh({sensor: rows for sensor, rows in news.items() if rows})


def _keep(
    sensor: Sensor, theirs: list[tuple[int, Incoming]], answer: Answer, sender: int | None, batch: ReadingBatch | None
) -> list[states.Measured]:
    """Write what is new of one sensor; returns it."""
    instants = [one.at for _, one in theirs]
    known = held_between(sensor.pk, min(instants) - intake.SPACING, max(instants) + intake.SPACING)
    sifted = intake.sift(known, [one for _, one in theirs])
    for index, reason, sentence in sifted.refused:
        answer.refuse(theirs[index][0], reason, sentence, sensor.pk, sender)
    fresh = {at: held for at, held in sifted.held.items() if held.new}
    filled = {at: held for at, held in sifted.held.items() if held.filled and not held.new}
    rows = [
        Reading(sensor=sensor, at=at, celsius=h.celsius, humidity=h.humidity, batch=batch) for at, h in fresh.items()
    ]
    Reading.objects.bulk_create(rows, batch_size=500)
    for at, held in filled.items():
        Reading.objects.filter(sensor=sensor, at=at).update(celsius=held.celsius, humidity=held.humidity)
    answer.repeated += sifted.repeated
    answer.stored += len(theirs) - sifted.repeated - len(sifted.refused)
    return [(at, held.celsius, held.humidity) for at, held in {**fresh, **filled}.items()]


def held_between(sensor: int, begins: int, ends: int) -> dict[int, Held]:
    """What is on record of a sensor between two instants."""
    rows = Reading.objects.filter(sensor=sensor, at__range=(begins, ends)).values_list("at", "celsius", "humidity")
    return {at: Held(celsius, humidity) for at, celsius, humidity in rows}


def count_refused(reason: Reason, sentence: str, device: Device | None = None, number: int = 1) -> None:
    """Count what was refused before a reading could be looked at."""
    refusals.count({(None, device.pk if device else None, reason): (number, sentence)}, timezone.now())
