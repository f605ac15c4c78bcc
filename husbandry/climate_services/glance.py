"""Each sensor at a glance: its last value, how old it is, and what is wrong with it now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db.models import OuterRef, Subquery

from husbandry import alarms
from husbandry.alarms import Pulse, Side
from husbandry.bands import Band
from husbandry.climate_services import corrections, states, wishes
from husbandry.climate_services.wishes import Wish
from husbandry.models import Posting, Sensor, SensorState

WORDS = {
    ("celsius", Side.ABOVE): "too warm",
    ("celsius", Side.BELOW): "too cold",
    ("humidity", Side.ABOVE): "too damp",
    ("humidity", Side.BELOW): "too dry",
}
UNITS = {"celsius": "°C", "humidity": "%"}


@dataclass(frozen=True)
class Trouble:
    """One thing that is wrong now: a word, and a sentence with its reason."""

    word: str
    sentence: str
    silent: bool = False


@dataclass(frozen=True)
class Glance:
    """One sensor now. Humidity is corrected; its ± stands beside."""

    sensor: Sensor
    posting: Posting | None
    celsius: float | None
    humidity: float | None
    plus_minus: float | None
    shown: float | None  # humidity as the sensor showed it, where the correction says otherwise
    age: int | None  # seconds
    troubles: tuple[Trouble, ...]
    tested: bool
    wish: Wish

    @property
    def away(self) -> bool:
        """Whether it is put away and watched by nobody."""
        return self.posting is None or (self.posting.place is None and self.posting.enclosure is None)


def glances(sensors: Sequence[Sensor], now: datetime) -> list[Glance]:
    """The same for several sensors, in a few queries whatever the number."""
    ids = [sensor.pk for sensor in sensors]
    posted = wishes.postings_now(ids)
    known = {state.pk: state for state in SensorState.objects.filter(pk__in=ids)}
    force = corrections.in_force(ids)
    wanted = wishes.wishes(sensors, posted)
    zone = states.house_zone()
    return [
        _glance(
            sensor,
            posted.get(sensor.pk),
            known.get(sensor.pk),
            states.Circumstances(wanted[sensor.pk], force.get(sensor.pk), zone),
            now,
        )
        for sensor in sensors
    ]


def _glance(
    sensor: Sensor, posting: Posting | None, state: SensorState | None, around: states.Circumstances, now: datetime
) -> Glance:
    shown = state.humidity / 100 if state and state.humidity is not None else None
    correction = corrections.holding(around.force, int(now.timestamp()))
    glance = Glance(
        sensor=sensor,
        posting=posting,
        celsius=state.celsius / 100 if state and state.celsius is not None else None,
        humidity=None if shown is None else correction.correct(shown),
        plus_minus=None if shown is None else correction.uncertainty(shown),
        shown=shown if around.force is not None else None,
        age=int(now.timestamp()) - state.at if state else None,
        troubles=(),
        tested=around.force is not None,
        wish=around.wish,
    )
    if glance.away or sensor.retired_on is not None:
        return glance
    return replace(glance, troubles=tuple(_troubles(glance, state, around, now)))


def _troubles(
    glance: Glance, state: SensorState | None, around: states.Circumstances, now: datetime
) -> Iterator[Trouble]:
    sensor, seconds = glance.sensor, int(now.timestamp())
    posted = int(glance.posting.since.timestamp()) if glance.posting else seconds
    pulse = Pulse(*state.pulse) if state else Pulse()
    silent = alarms.silent_since(pulse, seconds, sensor.overdue_minutes * 60, posted)
    if silent is not None:
        yield Trouble("silent", _silent_words(pulse, silent, sensor, now), silent=True)
    if state is None:
        return
    for quantity, value in (("celsius", glance.celsius), ("humidity", glance.humidity)):
        watch = states.watch_of(state, quantity)
        if watch.rung and value is not None and quantity in around.wish.rings:
            dark = quantity == "celsius" and around.dark(sensor, watch.last or seconds)
            band = around.wish.band(quantity, dark)
            since = "" if watch.since is None else f" since {clock(watch.since, now)}"
            said = f"{value:.1f} {UNITS[quantity]}{since}; {_rule(band, quantity, watch.side, sensor, dark)}"
            yield Trouble(WORDS[(quantity, watch.side)], said)


def _rule(band: Band, quantity: str, side: Side, sensor: Sensor, dark: bool) -> str:
    """What is wanted and by whose word, and when the alarm will be over."""
    unit, back = UNITS[quantity], alarms.way_back(band, side, alarms.MARGINS[quantity])
    night = f"at night {sensor.night_drop:g} {unit} cooler" if dark and sensor.night_drop else ""
    grounds = ", ".join(part for part in (band.why, night) if part)
    wanted = f"wanted is {band.says(unit)}" + (f" ({grounds})" if grounds else "") + "."
    if back is None:
        return wanted
    at_least = f"{back:g} {unit} or {'less' if side is Side.ABOVE else 'more'}"
    return f"{wanted} Over after {lasting(sensor.patience_minutes * 60)} at {at_least}."


def _silent_words(pulse: Pulse, silent: int, sensor: Sensor, now: datetime) -> str:
    if pulse.last is None:
        return f"Nothing came yet; it hangs there since {clock(silent, now)}. Its first reading ends that."
    if now.timestamp() - pulse.last <= sensor.overdue_minutes * 60:
        before = f"nothing had come since {clock(silent, now)}"
        return f"It speaks again, once so far; {before}. One more reading in time ends that."
    every, overdue = lasting(sensor.every_minutes * 60), lasting(sensor.overdue_minutes * 60)
    rule = f"it measures every {every} and is called silent after {overdue}"
    return f"Nothing came since {clock(silent, now)}; {rule}. Two readings in time end that."


def in_trouble(now: datetime) -> list[Glance]:
    """The sensors with something wrong, the out-of-band ones first. On a quiet day this is one query."""
    hung = Posting.objects.filter(sensor=OuterRef("pk")).order_by("-since")
    rows = Sensor.objects.in_use().select_related("state").annotate(hung=Subquery(hung.values("since")[:1]))
    suspects: list[Any] = [sensor for sensor in rows if _suspect(sensor, now)]
    found = [glance for glance in glances(suspects, now) if glance.troubles] if suspects else []
    return sorted(found, key=lambda glance: (all(t.silent for t in glance.troubles), glance.sensor.name))


def _suspect(sensor: Any, now: datetime) -> bool:
    """Whether anything may be wrong: it was outside for long, or a reading is missing."""
    state = getattr(sensor, "state", None)
    pulse = Pulse(*state.pulse) if state else Pulse()
    if sensor.hung is None:
        return False
    overdue = sensor.overdue_minutes * 60
    if alarms.silent_since(pulse, int(now.timestamp()), overdue, int(sensor.hung.timestamp())) is not None:
        return True
    return state is not None and any(watch["rung"] for watch in state.watches.values())


def clock(seconds: int, now: datetime) -> str:
    """An instant on the clock of the house: 14:10 today, else with its day."""
    moment = datetime.fromtimestamp(seconds, now.tzinfo)
    if moment.date() == now.date():
        return f"{moment:%H:%M}"
    return f"{moment:%Y-%m-%d, %H:%M}"


def lasting(seconds: float) -> str:
    """How long, as one says it: 40 min, 3 h, 2 days."""
    if seconds < 90 * 60:
        return f"{round(seconds / 60)} min"
    if seconds < 48 * 3600:
        return f"{seconds / 3600:.0f} h"
    return f"{seconds / 86_400:.0f} days"
