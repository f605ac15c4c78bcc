"""The file of a logger: readings of one sensor, or of several. What is on record already is passed over."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import Max
from django.utils import timezone

from collection.importing import kinds
from collection.importing.drafts import Draft, Job
from collection.importing.kinds import Field, Importer
from husbandry import intake
from husbandry.climate_services import states
from husbandry.models import Reading, ReadingBatch, Sensor, SensorState

Held = tuple[int | None, int | None]


def sensors_to_choose() -> list[tuple[str, str]]:
    """Sensors that a file may be of."""
    return list(Sensor.objects.in_use().values_list("key", "name"))


@kinds.owner("readings", "Readings of a logger", 35, code_fields=("sensor",))
class Readings(Importer):
    """One row a reading."""

    fields = (
        Field(
            "sensor",
            "Sensor",
            required=True,
            longest=60,
            hint="its name, or its name in messages",
            choices=sensors_to_choose,
        ),
        Field("at", "Date and time", "instant", required=True),
        Field("clock", "Time of day", hint="where it has a column of its own, beside the date", clock_of="at"),
        Field("celsius", "Temperature", "celsius"),
        Field("humidity", "Humidity, %", "percent"),
    )

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        self.batches: dict[int, ReadingBatch] = {}
        self.now = int(timezone.now().timestamp())

    def prepare(self, codes: set[str]) -> None:
        """The sensors named, and what is on record of them."""
        self.sensors: dict[str, Sensor] = {}
        for sensor in Sensor.objects.in_use():
            if {sensor.key, sensor.name.casefold()} & codes:
                self.sensors |= {sensor.key: sensor, sensor.name.casefold(): sensor}
        ids = {sensor.pk for sensor in self.sensors.values()}
        self.held: dict[int, dict[int, Held]] = {pk: {} for pk in ids}
        rows = Reading.objects.filter(sensor__in=ids).values_list("sensor_id", "at", "celsius", "humidity")
        for pk, at, celsius, humidity in rows.iterator(10_000):
            self.held[pk][at] = (celsius, humidity)

    def row(self, draft: Draft, values: dict[str, Any]) -> None:
        """The reading, unless it is on record."""
        name = str(values.get("sensor", ""))
        draft.label = name or "(no sensor)"
        sensor = self.sensors.get(name.casefold())
        if sensor is None:
            draft.refuse(f"No sensor is called “{name}”. Add it under Climate first." if name else "Which sensor?")
            return
        draft.label = sensor.name
        if "at" not in values:
            draft.refuse("No time: when was this measured?")
            return
        try:
            humidity = values.get("humidity")
            shown = None if humidity is None else float(humidity)
            one = intake.sound(sensor.key, values["at"], values.get("celsius"), shown, self.now)
        except intake.Refused as refusal:
            draft.refuse(str(refusal))
            return
        self._keep(draft, sensor, one)

    def _keep(self, draft: Draft, sensor: Sensor, one: intake.Incoming) -> None:
        held = self.held[sensor.pk]
        if one.at in held:
            draft.known = True
            if held[one.at] != (one.celsius, one.humidity):
                draft.say("another value is on record for this instant, and stays")
            return
        held[one.at] = (one.celsius, one.humidity)
        batch = self.batches.setdefault(
            sensor.pk, ReadingBatch(sensor=sensor, way=ReadingBatch.Way.FILE.value, day=self.job.today)
        )
        draft.create(batch)
        reading = Reading(sensor=sensor, at=one.at, celsius=one.celsius, humidity=one.humidity, batch=batch)
        draft.create(reading, said(one))

    @classmethod
    def afterwards(cls) -> None:
        """The newest reading of a sensor may be another one now."""
        newest = dict(Sensor.objects.in_use().values_list("pk").annotate(last=Max("readings__at")))
        known = dict(SensorState.objects.values_list("pk", "at"))
        states.rebuild(pk for pk, last in newest.items() if known.get(pk) != last)


def said(one: intake.Incoming) -> str:
    """A reading in words, on the clock of the house."""
    moment = datetime.fromtimestamp(one.at, timezone.get_current_timezone())
    parts = [f"{moment:%Y-%m-%d %H:%M}"]
    if one.celsius is not None:
        parts.append(f"{one.celsius / 100:.1f} °C")
    if one.humidity is not None:
        parts.append(f"{one.humidity / 100:.1f} %")
    return ", ".join(parts)
