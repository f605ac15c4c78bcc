"""The climate at one instant, or through some hours, wherever the nearest sensor hung then.

For others: a meeting's log asks `climate_at`, an incubator's forecast asks `hourly_temperatures`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from husbandry import humidity
from husbandry.climate_services import corrections
from husbandry.models import Enclosure, Place, Posting, Reading

NEAR = 30 * 60  # seconds; a reading further away says nothing of the instant
STEP = 3600


@dataclass(frozen=True)
class ClimateAt:
    """One moment: what was measured and what follows from it. `shown` is raw; humidity is corrected, with its ±.

    Pressures in kPa, temperatures in °C, humidity in per cent; None where a quantity was not measured.
    """

    sensor: str
    where: str  # the place or enclosure that the sensor hung in
    measured: datetime
    celsius: float | None
    shown: float | None
    humidity: float | None
    plus_minus: float | None
    deficit: float | None
    deficit_low: float | None
    deficit_high: float | None
    dew_point: float | None

    @property
    def says(self) -> str:
        """In one line: 24.6 °C, 68 ± 1 %, as measured in Rack A."""
        parts = [] if self.celsius is None else [f"{self.celsius:.1f} °C"]
        if self.humidity is not None and self.plus_minus is not None:
            parts.append(f"{self.humidity:.0f} ± {max(round(self.plus_minus), 1)} %")
        return f"{', '.join(parts)}, as measured in {self.where}"


def climate_at(where: Place | Enclosure, instant: datetime) -> ClimateAt | None:
    """The climate of a place or an enclosure at an instant, by the sensor that hung nearest then.

    Nearest is: in the enclosure, then at its place, then at what that stands in. None without a reading within
    half an hour.
    """
    seconds = int(instant.timestamp())
    for posting in nearest_postings(where, instant):
        reading = _reading_near(posting.sensor_id, seconds)
        if reading is not None:
            return _moment(posting, *reading)
    return None


def nearest_postings(where: Place | Enclosure, instant: datetime) -> list[Posting]:
    """The sensors that hung there at an instant, those nearest to the animals first."""
    place = where.place if isinstance(where, Enclosure) else where
    above = list(_upwards(place))
    anywhere = Q(place__in=[one.pk for one in above])
    if isinstance(where, Enclosure):
        anywhere |= Q(enclosure=where)
    rows = Posting.objects.at(instant).filter(anywhere).select_related("sensor", "place", "enclosure")
    depth = {one.pk: number for number, one in enumerate(above)}
    return sorted(rows, key=lambda row: (-1 if row.enclosure_id else depth[row.place_id or 0], row.sensor.name))


def _upwards(place: Place | None) -> Iterator[Place]:
    """A place and all that it stands in, from the inside out."""
    while place is not None:
        yield place
        place = place.parent


Row = tuple[int, int | None, int | None]


def _reading_near(sensor: int, seconds: int) -> Row | None:
    rows = Reading.objects.filter(sensor=sensor, at__range=(seconds - NEAR, seconds + NEAR))
    found = list(rows.values_list("at", "celsius", "humidity"))
    return min(found, key=lambda row: abs(row[0] - seconds), default=None)


def _moment(posting: Posting, at: int, celsius: int | None, shown: int | None) -> ClimateAt:
    from django.utils import timezone

    warm = None if celsius is None else celsius / 100
    said = moisture(warm, None if shown is None else shown / 100, posting.sensor_id, at)
    return ClimateAt(
        sensor=posting.sensor.name,
        where=str(posting.enclosure or posting.place),
        measured=datetime.fromtimestamp(at, timezone.get_current_timezone()),
        celsius=warm,
        shown=None if shown is None else shown / 100,
        **said,
    )


def moisture(celsius: float | None, shown: float | None, sensor: int, at: int) -> dict[str, float | None]:
    """Corrected humidity with its ±, deficit with its limits, and dew point, as far as they can be known."""
    correction = corrections.holding(corrections.in_force([sensor]).get(sensor), at)
    names = ("humidity", "plus_minus", "deficit", "deficit_low", "deficit_high", "dew_point")
    if shown is None:
        return dict.fromkeys(names)
    true, about = correction.correct(shown), correction.uncertainty(shown)
    found: dict[str, float | None] = dict.fromkeys(names) | {"humidity": true, "plus_minus": about}
    if celsius is None:
        return found
    wettest, driest = min(true + about, 100.0), max(true - about, 0.0)
    found["deficit"], found["deficit_low"], found["deficit_high"] = (
        humidity.vapour_pressure_deficit(celsius, share) / 1000 for share in (true, wettest, driest)
    )
    try:
        found["dew_point"] = humidity.dew_point(celsius, true)
    except ValueError:
        found["dew_point"] = None  # too dry to have one that matters
    return found


def hourly_temperatures(where: Place | Enclosure, begins: datetime, ends: datetime) -> list[tuple[datetime, float]]:
    """The mean temperature of each hour in °C, by the sensor that hangs nearest at the end; hours without are left out.

    Weighed by time, so an hour with many readings counts no more than its neighbour.
    """
    from zoneinfo import ZoneInfo

    from husbandry import climate
    from husbandry.bands import OPEN

    first, last = int(begins.timestamp()), int(ends.timestamp())
    for posting in nearest_postings(where, ends):
        rows = Reading.objects.filter(
            sensor=posting.sensor_id, at__range=(first - NEAR, last + NEAR), celsius__isnull=False
        )
        found = list(rows.order_by("at").values_list("at", "celsius"))
        if not found:
            continue
        zone = ZoneInfo("UTC")
        dark = climate.nights(first, last, climate.Light(), zone)
        longest = longest_gap(posting.sensor.every_minutes)
        warmth = [(celsius or 0) / 100 for _, celsius in found]
        track = climate.track([at for at, _ in found], warmth, climate.edges(first, last, STEP), dark, longest, OPEN)
        return [
            (datetime.fromtimestamp(part.begins, begins.tzinfo), part.whole.mean)
            for part in track.parts
            if part.whole.mean is not None
        ]
    return []


def longest_gap(every_minutes: int) -> int:
    """Up to how many seconds apart two readings are joined by a line."""
    return max(3 * every_minutes * 60, NEAR)
