"""Writes about sensors: what they are, where they hang, how they were tested."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from collection import receipts
from collection.services import Refused
from husbandry.climate_services import corrections, states
from husbandry.models import Calibration, Posting, Sensor


def save_sensor(sensor: Sensor, posting: Posting | None = None) -> Sensor:
    """A sensor's particulars, and where it hangs when that is told at once."""
    with transaction.atomic():
        sensor.save()
        if posting is not None:
            posting.sensor = sensor
            posting.save()
        states.rebuild([sensor.pk])
        receipts.note(f"Sensor {sensor.name}")
    return sensor


def hang(posting: Posting) -> Posting:
    """From an instant on a sensor hangs elsewhere, or is put away."""
    if Posting.objects.filter(sensor=posting.sensor, since=posting.since).exclude(pk=posting.pk).exists():
        raise Refused("It was hung somewhere at that very minute already; choose another time.", "since")
    with transaction.atomic():
        posting.save()
        states.rebuild([posting.sensor_id])
        where = posting.place or posting.enclosure or "put away"
        receipts.note(f"{posting.sensor}: {where}")
    return posting


def record_calibration(row: Calibration) -> Calibration:
    """A salt test, in force from its instant on. Raises Refused for one that cannot be right."""
    try:
        corrections.correction_of(row)
    except ValueError as problem:
        raise Refused(str(problem)) from None
    if Calibration.objects.filter(sensor=row.sensor, since=row.since).exclude(pk=row.pk).exists():
        raise Refused("There is a test of that very minute already; choose another time.", "since")
    with transaction.atomic():
        row.save()
        states.rebuild([row.sensor_id])
        receipts.note(f"{row.sensor}: {row}")
    return row


def remove_calibration(row: Calibration) -> None:
    """Take a salt test away: readings since are as the one before it says."""
    with transaction.atomic():
        sensor, said = row.sensor, str(row)
        row.delete()
        states.rebuild([sensor.pk])
        receipts.note(f"Took away: {said} of {sensor}")


@receipts.mends("husbandry.calibration")
def mend_calibrations(rows: Sequence[int]) -> list[int]:
    """A test that was taken back corrects nothing any more."""
    states.rebuild(set(Calibration.history.filter(id__in=rows).values_list("sensor_id", flat=True)))
    return []


@receipts.mends("husbandry.posting")
def mend_postings(rows: Sequence[int]) -> list[int]:
    """A sensor that hangs where it hung before is measured against the bands there."""
    states.rebuild(set(Posting.history.filter(id__in=rows).values_list("sensor_id", flat=True)))
    return []


def shown_lately(sensor: Sensor, now: datetime) -> tuple[float, datetime] | None:
    """The newest humidity as the sensor showed it, and when."""
    state = getattr(sensor, "state", None)
    if state is None or state.humidity is None:
        return None
    return state.humidity / 100, datetime.fromtimestamp(state.humidity_at, now.tzinfo)
