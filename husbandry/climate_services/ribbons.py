"""The ribbons of a page: some sensors over some time, from their readings to figures, sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from husbandry import climate, ribbon
from husbandry.bands import OPEN, Band
from husbandry.climate import Light, Nights, Track
from husbandry.climate_services import states
from husbandry.climate_services.moments import longest_gap
from husbandry.climate_services.states import Circumstances
from husbandry.models import Posting, Reading, Sensor

DAYS = {"day": 1, "week": 7, "month": 30, "year": 365}
STEP = {"day": 600, "week": 3600, "month": 3 * 3600, "year": 24 * 3600}
QUANTITIES = ("celsius", "humidity", "deficit", "deficit_low", "deficit_high")
TALL = {"celsius": 132, "humidity": 132, "deficit": 84}


@dataclass(frozen=True)
class Span:
    """From a midnight to the end of a day, or to now when that is today."""

    name: str
    begins: datetime
    ends: datetime
    last: date

    @property
    def first_second(self) -> int:
        """The beginning as seconds since 1970."""
        return int(self.begins.timestamp())

    @property
    def last_second(self) -> int:
        """The end as seconds since 1970."""
        return int(self.ends.timestamp())

    @property
    def before(self) -> date:
        """The last day of the span before this one."""
        return self.last - timedelta(days=DAYS[self.name])

    @property
    def after(self) -> date:
        """The last day of the span after this one."""
        return self.last + timedelta(days=DAYS[self.name])


def span(name: str, last: date, now: datetime) -> Span:
    """The days that end with `last`, in the zone of `now`; never beyond now."""
    name = name if name in DAYS else "week"
    last = min(last, now.date())
    begins = datetime.combine(last - timedelta(days=DAYS[name] - 1), time(), now.tzinfo)
    ends = min(datetime.combine(last + timedelta(days=1), time(), now.tzinfo), now)
    if ends <= begins:
        ends = begins + timedelta(minutes=1)
    return Span(name, begins, ends, last)


@dataclass
class Hanging:
    """A sensor while it hung where it is looked at; None at an end: since ever, or still."""

    sensor: Sensor
    posting: Posting | None = None
    begins: int | None = None
    ends: int | None = None


@dataclass
class Line:
    """One row of the table beside a ribbon: day and night of one bucket."""

    label: str
    celsius: climate.Part
    humidity: climate.Part
    deficit: climate.Stretch

    @property
    def outside(self) -> float:
        """Seconds in which either quantity was outside, at most: they may have been so at once."""
        return max(self.celsius.whole.outside, self.humidity.whole.outside)


@dataclass
class Ribbon:
    """One sensor, ready to show."""

    sensor: Sensor
    posting: Posting | None
    around: Circumstances
    celsius: Track
    humidity: Track
    deficit: Track
    panels: list[ribbon.Panel]
    lines: list[Line]
    axis: tuple[ribbon.Mark, ...]
    dew: float | None = None
    deficit_range: tuple[float, float] | None = None
    beyond: bool = False
    tested: bool = False
    notes: tuple[str, ...] = field(default=())

    @property
    def celsius_says(self) -> str:
        """The band of temperature in words."""
        return self.around.wish.celsius.says("°C")

    @property
    def humidity_says(self) -> str:
        """The band of humidity in words."""
        return self.around.wish.humidity.says("%")

    @property
    def empty(self) -> bool:
        """No reading in the time shown."""
        return all(panel.empty for panel in self.panels)

    @property
    def uncovered(self) -> float:
        """Seconds of which no reading tells."""
        return min(track.uncovered for track in (self.celsius, self.humidity))


Rows = dict[int, list[tuple[int, int | None, int | None]]]


def draw(hanging: Sequence[Hanging], chosen: Span, now: datetime) -> list[Ribbon]:
    """The ribbons of several sensors, in a few queries whatever the number."""
    sensors = [one.sensor for one in hanging]
    around = states.circumstances(sensors)
    reach = max((longest_gap(sensor.every_minutes) for sensor in sensors), default=0)
    rows = _rows([sensor.pk for sensor in sensors], chosen.first_second - reach, chosen.last_second + reach)
    return [_ribbon(one, rows.get(one.sensor.pk, []), around[one.sensor.pk], chosen, now) for one in hanging]


def _rows(sensors: Sequence[int], begins: int, ends: int) -> Rows:
    found: Rows = {pk: [] for pk in sensors}
    rows = Reading.objects.filter(sensor__in=sensors, at__range=(begins, ends)).order_by("sensor_id", "at")
    for pk, at, celsius, humidity in rows.values_list("sensor_id", "at", "celsius", "humidity").iterator(10_000):
        found[pk].append((at, celsius, humidity))
    return found


def _ribbon(one: Hanging, rows: Any, around: Circumstances, chosen: Span, now: datetime) -> Ribbon:
    if one.begins is not None or one.ends is not None:
        rows = [row for row in rows if (one.begins or 0) <= row[0] < (one.ends or row[0] + 1)]
    measured = _Measured(one.sensor, rows, around, chosen)
    fine = measured.tracks(climate.edges(chosen.first_second, chosen.last_second, STEP[chosen.name]))
    coarse_edges = _coarse(chosen)
    coarse = measured.tracks(coarse_edges, ("celsius", "humidity", "deficit"))
    spread = (fine["deficit_low"], fine["deficit_high"])
    panels = [
        measured.panel("Temperature", "°C", fine["celsius"], "celsius", now),
        measured.panel("Humidity", "%", fine["humidity"], "humidity", now),
        measured.panel("Vapour pressure deficit", "kPa", fine["deficit"], "deficit", now, spread),
    ]
    return Ribbon(
        sensor=one.sensor,
        posting=one.posting,
        around=around,
        celsius=coarse["celsius"],
        humidity=coarse["humidity"],
        deficit=coarse["deficit"],
        panels=[panel for panel in panels if not panel.empty] or panels[:2],
        lines=_lines(coarse, chosen, around.zone),
        axis=ribbon.axis(chosen.first_second, chosen.last_second, around.zone),
        dew=measured.dew(coarse),
        deficit_range=_range(fine),
        beyond=measured.beyond,
        tested=bool(around.force),
        notes=around.wish.notes,
    )


def _coarse(chosen: Span) -> list[int]:
    """Edges of the table's rows: three hours of a day, days, or the months of a year."""
    if chosen.name == "day":
        return climate.edges(chosen.first_second, chosen.last_second, 3 * 3600)
    return climate.calendar_edges(chosen.begins, chosen.ends, months=chosen.name == "year")


def _range(tracks: dict[str, Track]) -> tuple[float, float] | None:
    low, high = tracks["deficit_low"].whole.mean, tracks["deficit_high"].whole.mean
    return None if low is None or high is None else (low, high)


class _Measured:
    """The readings of one sensor as arrays, corrected, with the bands that they are held against."""

    def __init__(self, sensor: Sensor, rows: Any, around: Circumstances, chosen: Span) -> None:
        import numpy as np

        self.sensor, self.around = sensor, around
        self.at = np.array([row[0] for row in rows], dtype=np.int64)
        celsius = np.array([np.nan if row[1] is None else row[1] / 100 for row in rows], dtype=float)
        shown = [None if row[2] is None else row[2] / 100 for row in rows]
        since, corrections = around.force or ([], [])
        true, about = climate.corrected(self.at, shown, since, corrections)
        low, high = (
            min((v for v in shown if v is not None), default=None),
            max((v for v in shown if v is not None), default=None),
        )
        newest = corrections[-1] if corrections else None
        self.beyond = bool(
            newest and low is not None and high is not None and (newest.beyond(low) or newest.beyond(high))
        )
        deficit, least, most = climate.deficits(celsius, true, about)
        self.values = {
            "celsius": celsius,
            "humidity": true,
            "deficit": deficit,
            "deficit_low": least,
            "deficit_high": most,
        }
        light = Light(sensor.lights_on, sensor.lights_off)
        self.dark: Nights = climate.nights(chosen.first_second, chosen.last_second, light, around.zone)

    def bands(self, quantity: str) -> tuple[Band, Band]:
        """By day and by night."""
        if quantity.startswith("deficit"):
            return OPEN, OPEN
        return self.around.wish.band(quantity, False), self.around.wish.band(quantity, True)

    def tracks(self, edges: list[int], quantities: Sequence[str] = QUANTITIES) -> dict[str, Track]:
        """The quantities, weighed between these edges."""
        longest = longest_gap(self.sensor.every_minutes)
        return {
            quantity: climate.track(self.at, self.values[quantity], edges, self.dark, longest, *self.bands(quantity))
            for quantity in quantities
        }

    def panel(
        self,
        title: str,
        unit: str,
        track: Track,
        quantity: str,
        now: datetime,
        spread: tuple[Track, Track] | None = None,
    ) -> ribbon.Panel:
        """One quantity, drawn."""
        seconds = int(now.timestamp())
        return ribbon.panel(title, unit, TALL[quantity], track, self.dark, *self.bands(quantity), seconds, spread)

    def dew(self, tracks: dict[str, Track]) -> float | None:
        """The dew point of the mean air; None where it is not known."""
        from husbandry import humidity

        celsius, share = tracks["celsius"].whole.mean, tracks["humidity"].whole.mean
        if celsius is None or share is None:
            return None
        try:
            return humidity.dew_point(celsius, share)
        except ValueError:
            return None


def _lines(tracks: dict[str, Track], chosen: Span, zone: ZoneInfo) -> list[Line]:
    rows = zip(tracks["celsius"].parts, tracks["humidity"].parts, tracks["deficit"].parts, strict=True)
    return [
        Line(_label(chosen.name, datetime.fromtimestamp(celsius.begins, zone)), celsius, humidity, deficit.whole)
        for celsius, humidity, deficit in rows
    ]


def _label(name: str, moment: datetime) -> str:
    if name == "day":
        return f"{moment:%H:%M}"
    return f"{moment:%Y-%m}" if name == "year" else f"{moment:%Y-%m-%d}"


def hanging_in(postings: Sequence[Posting], here: set[int], chosen: Span) -> list[Hanging]:
    """Of the postings of some sensors, oldest first, the times in the span in which they hung here."""
    following: dict[int, int | None] = {}
    found: list[Hanging] = []
    for posting in reversed(postings):
        begins, ends = int(posting.since.timestamp()), following.get(posting.sensor_id)
        following[posting.sensor_id] = begins
        if posting.pk in here and begins <= chosen.last_second and (ends is None or ends > chosen.first_second):
            found.append(Hanging(posting.sensor, posting, begins, ends))
    return sorted(found, key=lambda one: (one.sensor.name, one.begins))
