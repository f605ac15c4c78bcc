"""Sensors, their devices and what they send, for tests."""

import json
from datetime import datetime

from django.test import Client
from django.utils import timezone

from husbandry.climate_services import devices
from husbandry.models import Device, Enclosure, Place, Posting, Sensor
from tests import factories as make

NOW = int(datetime.fromisoformat(make.NOW).timestamp())


def sensor(key: str = "rack-a", where: Place | Enclosure | None = None, **values) -> Sensor:
    """A sensor that has hung somewhere for a year."""
    made = Sensor.objects.create(name=f"Sensor {key}", key=key, **values)
    spot = {"enclosure": where} if isinstance(where, Enclosure) else {"place": where}
    if where is not None:
        Posting.objects.create(sensor=made, since=timezone.now() - timezone.timedelta(days=365), **spot)
    return made


def hub(name: str = "hub", **values) -> tuple[Device, str]:
    return devices.admit(name, **values)


def send(token: str, content, client: Client | None = None, **headers):
    """What a device does: one POST."""
    body = content if isinstance(content, str | bytes) else json.dumps(content)
    headers = {"HTTP_AUTHORIZATION": f"Bearer {token}"} if token and not headers else headers
    return (client or Client()).post("/api/readings", body, content_type="application/json", **headers)
