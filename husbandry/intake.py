"""What may come in as a reading: one message as plain values in, a sound reading or a reason out.

Plausible are −40 to 85 °C and 0 to 100 %, what common sensors can measure at all; instants from 2010 on, since a clock
that was never set says 1970 or 2000, and at most ten minutes ahead. Readings of one sensor nearer than ten seconds to
each other are a flood: air does not change so fast. Instants are whole seconds since 1970 in UTC; temperature and
humidity are kept in hundredths, finer than any sensor here resolves.
"""

import json
import math
from bisect import bisect_left, bisect_right, insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

CELSIUS = (-40.0, 85.0)
EARLIEST = 1_262_304_000  # 2010-01-01T00:00:00Z
AHEAD = 600
SPACING = 10
MILLISECONDS = 100_000_000_000  # a number above this can only count milliseconds: in seconds it is the year 5138
LONGEST_NAME = 60
TEMPERATURE = frozenset(["temperature", "temp", "celsius", "t"])
HUMIDITY = frozenset(["humidity", "relative_humidity", "rh", "hum", "h"])
UNITS = {"c": "celsius", "°c": "celsius", "celsius": "celsius", "f": "fahrenheit", "°f": "fahrenheit"} | {
    "fahrenheit": "fahrenheit", "%": "humidity", "%rh": "humidity", "rh": "humidity", "percent": "humidity",
}  # fmt: skip


class Reason(StrEnum):
    """Why a reading is refused. The value is stored and counted."""

    SHAPE = "shape"
    SENSOR = "sensor"
    NOT_YOURS = "not_yours"
    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"
    PAST = "past"
    FUTURE = "future"
    ZONE = "zone"
    FLOOD = "flood"
    DIFFERS = "differs"
    TOO_LARGE = "too_large"
    TOKEN = "token"


class Refused(ValueError):
    """A reading that is not taken: the reason and a sentence."""

    def __init__(self, reason: Reason, sentence: str) -> None:
        super().__init__(sentence)
        self.reason = reason


@dataclass(frozen=True)
class Incoming:
    """A sound reading: which sensor, when, and what it measured, in hundredths; `timed` says that it named its time."""

    sensor: str
    at: int
    celsius: int | None = None
    humidity: int | None = None
    timed: bool = True


def sound(sensor: str, at: int, celsius: Any, humidity: Any, now: int, *, timed: bool = True) -> Incoming:
    """A reading from its parts. Raises Refused with the reason."""
    check_instant(at, now)
    if celsius is None and humidity is None:
        raise Refused(Reason.SHAPE, "A reading needs a temperature or a humidity.")
    return Incoming(sensor, at, _celsius(celsius), _humidity(humidity), timed)


def read_message(message: Any, now: int) -> Incoming:
    """A reading from one JSON object: `sensor`, then `temperature` and `humidity`, or `value` with its `unit`.

    `at` is seconds since 1970, or a time with its zone as ISO 8601 writes it; without it the reading is of now.
    """
    if not isinstance(message, Mapping):
        raise Refused(Reason.SHAPE, "A reading is an object such as {“sensor”: “rack-a”, “temperature”: 24.5}.")
    sensor = message.get("sensor")
    if not isinstance(sensor, str) or not sensor.strip():
        raise Refused(Reason.SENSOR, "The reading does not say which sensor it is of.")
    if not sensor.strip().isprintable():  # half a character or NUL, which a database does not take
        raise Refused(Reason.SENSOR, "The name of the sensor holds signs that no name has.")
    at = message.get("at")
    instant = now if at is None else read_instant(at)
    celsius, humidity = _quantities(message)
    return sound(sensor.strip()[:LONGEST_NAME], instant, celsius, humidity, now, timed=at is not None)


def read_topic(topic: str, payload: bytes, now: int, *, retained: bool = False) -> Incoming:
    """A reading from a message of a broker: `rack/<sensor>/<quantity>` with a number or with JSON.

    `rack/<sensor>` with an object of temperature and humidity works too. What the broker kept as the last word of a
    sensor (`retained`) is of some earlier time: without its own time it is refused.
    """
    parts = topic.split("/")
    if len(parts) not in (2, 3) or not all(parts):
        raise Refused(Reason.SENSOR, "Topics are rack/sensor/temperature, rack/sensor/humidity or rack/sensor.")
    content = _content(payload)
    quantity = parts[2] if len(parts) == 3 else ""
    message: dict[str, Any] = dict(content) if isinstance(content, Mapping) else {"value": content}
    if quantity:
        value = message.pop("value", message.pop("v", None))
        if value is not None:
            message[quantity] = value
    if retained and message.get("at") is None:
        raise Refused(Reason.SHAPE, "A message that the broker kept does not say of when it is.")
    message["sensor"] = parts[1]
    return read_message(message, now)


def _content(payload: bytes) -> Any:
    try:
        return json.loads(payload)
    except (ValueError, RecursionError):
        raise Refused(Reason.SHAPE, "The message is neither a number nor JSON.") from None


def _quantities(message: Mapping[str, Any]) -> tuple[Any, Any]:
    """Temperature in °C and humidity, as they stand in the message."""
    celsius = next((message[name] for name in message if str(name).casefold() in TEMPERATURE), None)
    humidity = next((message[name] for name in message if str(name).casefold() in HUMIDITY), None)
    if celsius is not None or humidity is not None:
        unit = UNITS.get(str(message.get("unit", "c")).casefold())
        return (_from_fahrenheit(celsius) if unit == "fahrenheit" else celsius), humidity
    unit = UNITS.get(str(message.get("unit", "")).strip().casefold())
    if unit is None:
        raise Refused(Reason.SHAPE, "A value needs its unit: C, F or %.")
    value = message.get("value")
    if unit == "humidity":
        return None, value
    return (_from_fahrenheit(value) if unit == "fahrenheit" else value), None


def _from_fahrenheit(value: Any) -> Any:
    number = _number(value)
    return value if number is None else (number - 32) * 5 / 9


def _number(value: Any) -> float | None:
    """A finite number, also one written as text; None for all else."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except (ValueError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def _celsius(value: Any) -> int | None:
    if value is None:
        return None
    number = _number(value)
    if number is None or not CELSIUS[0] <= number <= CELSIUS[1]:
        said = "that is no number" if number is None else f"{number:g} °C is more than a sensor can measure"
        raise Refused(Reason.TEMPERATURE, f"Temperature: {said} ({CELSIUS[0]:g} to {CELSIUS[1]:g} °C).")
    return round(number * 100)


def _humidity(value: Any) -> int | None:
    if value is None:
        return None
    number = _number(value)
    if number is None or not 0 <= number <= 100:
        said = "that is no number" if number is None else f"{number:g} % cannot be"
        raise Refused(Reason.HUMIDITY, f"Humidity: {said}; it lies between 0 and 100 %.")
    return round(number * 100)


def read_instant(value: Any) -> int:
    """Seconds since 1970 from a number of seconds or milliseconds, or from ISO 8601 with its zone. Raises Refused."""
    number = None if isinstance(value, str) and not value.strip().isdigit() else _number(value)
    if number is not None:
        return int(number / 1000 if abs(number) >= MILLISECONDS else number)
    if not isinstance(value, str):
        raise Refused(Reason.SHAPE, "The time of the reading cannot be read.")
    try:
        moment = datetime.fromisoformat(value.strip())
    except ValueError:
        raise Refused(
            Reason.SHAPE, "The time of the reading cannot be read. Write 2026-03-14T09:30:00+01:00."
        ) from None
    if moment.tzinfo is None:
        raise Refused(Reason.ZONE, "The time of the reading lacks its zone. Write 2026-03-14T09:30:00+01:00.")
    return int(moment.timestamp())


def check_instant(at: int, now: int) -> None:
    """Refuse what a wrong clock says. Raises Refused."""
    if at < EARLIEST:
        raise Refused(Reason.PAST, "The sensor’s clock stands before 2010: it was never set.")
    if at > now + AHEAD:
        raise Refused(Reason.FUTURE, "The sensor’s clock is ahead: the reading lies in the future.")


@dataclass
class Held:
    """What is held of one instant of one sensor; `new` and `filled` say what is to be written."""

    celsius: int | None
    humidity: int | None
    new: bool = False
    filled: bool = False


@dataclass
class Sifted:
    """What becomes of some readings of one sensor: what to hold, how many were repeats, which are refused and why."""

    held: dict[int, Held]
    repeated: int
    refused: list[tuple[int, Reason, str]]  # position in what came in, reason, sentence


FLOOD = f"Readings of one sensor that differ within {SPACING} seconds are not kept: air does not change so fast."
DIFFERS = "Another value is on record for this instant already; the first one stays."


def sift(known: Mapping[int, Held], incoming: Sequence[Incoming]) -> Sifted:
    """Put new readings of one sensor beside those held around them.

    What is held already within the spacing is a repeat and harmless. What contradicts it is refused. A temperature
    and a humidity that come apart join into one reading. The same messages once more change nothing.
    """
    sifted = Sifted(dict(known), 0, [])
    instants = sorted(sifted.held)
    for position, one in sorted(enumerate(incoming), key=lambda pair: pair[1].at):
        near = _near(instants, one.at)
        if any(_has(sifted.held[at], one) for at in near):
            sifted.repeated += 1
        elif not all(_agrees(sifted.held[at], one) for at in near):
            same = one.at in near and not _agrees(sifted.held[one.at], one)
            sifted.refused.append((position, *((Reason.DIFFERS, DIFFERS) if same else (Reason.FLOOD, FLOOD))))
        elif near:
            _join(sifted.held[near[0]], one)
        else:
            sifted.held[one.at] = Held(one.celsius, one.humidity, new=True)
            insort(instants, one.at)
    return sifted


def _near(instants: list[int], at: int) -> list[int]:
    """The held instants within the spacing, the nearest first."""
    found = instants[bisect_right(instants, at - SPACING) : bisect_left(instants, at + SPACING)]
    return sorted(found, key=lambda other: abs(other - at))


def _has(held: Held, one: Incoming) -> bool:
    """Whether all that comes is held already."""
    pairs = ((held.celsius, one.celsius), (held.humidity, one.humidity))
    return all(new is None or old == new for old, new in pairs)


def _agrees(held: Held, one: Incoming) -> bool:
    """Whether nothing that comes is held otherwise."""
    pairs = ((held.celsius, one.celsius), (held.humidity, one.humidity))
    return all(old is None or new is None or old == new for old, new in pairs)


def _join(held: Held, one: Incoming) -> None:
    held.celsius = one.celsius if held.celsius is None else held.celsius
    held.humidity = one.humidity if held.humidity is None else held.humidity
    held.filled = not held.new
