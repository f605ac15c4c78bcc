"""The newest reading of each sensor and how far its alarms have come: derived, and kept up reading by reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from collection import receipts
from husbandry import alarms
from husbandry.alarms import Pulse, Side, Watch
from husbandry.climate_services import corrections, wishes
from husbandry.climate_services.corrections import InForce
from husbandry.climate_services.wishes import Wish
from husbandry.models import ClimateAlarm, Reading, ReadingBatch, Sensor, SensorState

REACH = 7 * 24 * 3600  # seconds; how far back a state is worked out anew
FARTHEST = 35 * 24 * 3600  # the same where an alarm has rung for longer than that
Measured = tuple[int, int | None, int | None]  # instant, hundredths of °C, hundredths of % as shown


@dataclass(frozen=True)
class Circumstances:
    """What decides about a reading of one sensor besides the reading."""

    wish: Wish
    force: InForce | None
    zone: ZoneInfo

    def dark(self, sensor: Sensor, at: int) -> bool:
        """Whether it is night at the sensor."""
        return not sensor.lights_on <= datetime.fromtimestamp(at, self.zone).hour < sensor.lights_off


def circumstances(sensors: Sequence[Sensor]) -> dict[int, Circumstances]:
    """The same for several sensors, in a few queries."""
    wanted = wishes.wishes(sensors)
    force = corrections.in_force([sensor.pk for sensor in sensors])
    zone = house_zone()
    return {sensor.pk: Circumstances(wanted[sensor.pk], force.get(sensor.pk), zone) for sensor in sensors}


def house_zone() -> ZoneInfo:
    """The zone of the house."""
    return ZoneInfo(str(timezone.get_current_timezone()))


def refresh(measured: Mapping[Sensor, Sequence[Measured]]) -> None:
    """Take new readings into account. What is older than the newest known changes nothing of now."""
    around = circumstances(list(measured))
    known = {state.pk: state for state in SensorState.objects.filter(pk__in=[sensor.pk for sensor in measured])}
    for sensor, rows in measured.items():
        state = known.get(sensor.pk)
        newer = sorted(row for row in rows if state is None or row[0] >= state.at)
        if newer:
            _advance(sensor, state, newer, around[sensor.pk]).save()


def rebuild(sensors: Iterable[int]) -> None:
    """Work the states out anew from the readings; alarms that are over stay on record."""
    for sensor in Sensor.objects.filter(pk__in=list(sensors)):
        newest = Reading.objects.filter(sensor=sensor).order_by("-at").values_list("at", flat=True).first()
        with transaction.atomic():
            since = _reach(sensor, newest) if newest is not None else 0
            SensorState.objects.filter(pk=sensor.pk).delete()
            ClimateAlarm.objects.filter(sensor=sensor, ends__isnull=True).delete()
            if newest is not None:
                rows = Reading.objects.filter(sensor=sensor, at__gte=since).order_by("at")
                refresh({sensor: list(rows.values_list("at", "celsius", "humidity"))})


def _reach(sensor: Sensor, newest: int) -> int:
    """From when on: no alarm on record is cut in two, or it would be told twice, with a wrong beginning."""
    since = newest - REACH
    known = ClimateAlarm.objects.filter(sensor=sensor, begins__gte=newest - FARTHEST, begins__lt=since)
    for begins, ends in known.order_by("-begins").values_list("begins", "ends"):
        if ends is None or ends >= since:
            since = begins
    return since


@receipts.mends("husbandry.readingbatch")
def mend(batches: Sequence[int]) -> list[int]:
    """Readings that were taken back are no news any more."""
    rebuild(set(ReadingBatch.history.filter(id__in=batches).values_list("sensor_id", flat=True)))
    return []


@receipts.mends("husbandry.sensor")
def mend_sensor(sensors: Sequence[int]) -> list[int]:
    """A band that was changed back is measured against anew."""
    rebuild(sensors)
    return []


def _advance(sensor: Sensor, state: SensorState | None, rows: list[Measured], around: Circumstances) -> SensorState:
    state = state or SensorState(sensor=sensor, at=rows[0][0], pulse=[None, 0, None])
    pulse = Pulse(*state.pulse)
    watches = {quantity: _watch(state.watches.get(quantity)) for quantity in alarms.MARGINS}
    for at, celsius, humidity in rows:
        pulse = _heard(sensor, pulse, at)
        for quantity, hundredths in (("celsius", celsius), ("humidity", humidity)):
            if hundredths is not None:
                setattr(state, quantity, hundredths)
                setattr(state, f"{quantity}_at", at)
                watches[quantity] = _watched(sensor, watches[quantity], quantity, at, hundredths / 100, around)
        state.at = at
    state.pulse = [pulse.last, pulse.steady, pulse.silent_from]
    state.watches = {quantity: asdict(watch) for quantity, watch in watches.items()}
    return state


def _watch(kept: Mapping[str, Any] | None) -> Watch:
    return Watch(**{**kept, "side": Side(kept["side"])}) if kept else Watch()


def watch_of(state: SensorState, quantity: str) -> Watch:
    """How far the alarm of a quantity has come."""
    return _watch(state.watches.get(quantity))


def _heard(sensor: Sensor, pulse: Pulse, at: int) -> Pulse:
    """One more sign of life; a silence that it ends is put on record."""
    after = alarms.beat(pulse, at, sensor.overdue_minutes * 60)
    if pulse.silent_from is not None and after.silent_from is None:
        _record(sensor, ClimateAlarm.Kind.SILENT.value, pulse.silent_from, at)
    return after


def _watched(sensor: Sensor, watch: Watch, quantity: str, at: int, shown: float, around: Circumstances) -> Watch:
    """One more value held against its band; alarms that come or go are put on record."""
    if quantity not in around.wish.rings:
        if watch.rung:
            _record(sensor, f"{quantity} {watch.side.value}", watch.since or at, at)
        return Watch(last=at)
    value = corrections.holding(around.force, at).correct(shown) if quantity == "humidity" else shown
    band = around.wish.band(quantity, around.dark(sensor, at))
    after = alarms.step(watch, at, value, band, alarms.MARGINS[quantity], sensor.patience_minutes * 60)
    if watch.rung and (not after.rung or after.side is not watch.side):
        _record(sensor, f"{quantity} {watch.side.value}", watch.since or at, at)
    if after.rung and not (watch.rung and after.side is watch.side):
        _record(sensor, f"{quantity} {after.side.value}", after.since or at, None)
    return after


def _record(sensor: Sensor, kind: str, begins: int, ends: int | None) -> None:
    ClimateAlarm.objects.update_or_create(sensor=sensor, kind=kind, begins=begins, defaults={"ends": ends})
