"""What those who live where a sensor hangs want of the air, and what the keeper wants of that sensor."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Q

from collection.models import Taxon
from collection.stages import Group, Lifestyle
from husbandry.bands import OPEN, Band, Clash, default_bands, what_suits_all
from husbandry.models import Enclosure, Posting, Sensor, Stay


@dataclass(frozen=True)
class Wish:
    """The bands of one sensor. `celsius` and `humidity` bound what is drawn; what rings is said apart."""

    celsius: Band = OPEN
    humidity: Band = OPEN
    rings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    night_drop: float = 0.0

    def band(self, quantity: str, dark: bool) -> Band:
        """The band of a quantity by day or by night."""
        if quantity == "humidity":
            return self.humidity
        return self.celsius.cooler(self.night_drop) if dark else self.celsius


Bands = tuple[Band, Band]  # humidity, temperature


def bands_of(taxon: Taxon) -> Bands:
    """Humidity and temperature of a taxon: its own figures, else those of its lifestyle."""
    lifestyle = Lifestyle(taxon.lifestyle) if taxon.lifestyle else None
    humidity, celsius = default_bands(Group(taxon.group), lifestyle)
    own = f"figures of {taxon}"
    return (
        _given(taxon.humidity_min, taxon.humidity_max, own) or humidity,
        _given(taxon.celsius_min, taxon.celsius_max, own) or celsius,
    )


def bands_in(enclosure: Enclosure, taxon: Taxon) -> Bands:
    """The same for an animal in its box: the box's own bands go before the taxon's."""
    humidity, celsius = bands_of(taxon)
    own = f"the band of {enclosure.code}"
    return (
        _given(enclosure.humidity_min, enclosure.humidity_max, own) or humidity,
        _given(enclosure.celsius_min, enclosure.celsius_max, own) or celsius,
    )


def _given(low: float | None, high: float | None, why: str) -> Band | None:
    """The band of two columns; an odd pair from an old list bounds nothing."""
    if low is not None and high is not None and low >= high:
        return None
    return Band(low, high, why) or None


def wishes(sensors: Sequence[Sensor], posted: dict[int, Posting] | None = None) -> dict[int, Wish]:
    """The bands of each sensor as it hangs now, in two queries whatever the number."""
    if posted is None:
        posted = postings_now([sensor.pk for sensor in sensors])
    lives = residents(posted)
    return {sensor.pk: _wish(sensor, posted.get(sensor.pk), lives.get(sensor.pk, [])) for sensor in sensors}


def postings_now(sensors: Iterable[int]) -> dict[int, Posting]:
    """Where each of them hangs."""
    rows = (
        Posting.objects.filter(sensor__in=sensors).select_related("place", "enclosure__place").order_by("since", "id")
    )
    return {row.sensor_id: row for row in rows}


def residents(postings: dict[int, Posting]) -> dict[int, list[Bands]]:
    """What those want who live where each sensor hangs: in its enclosure, or anywhere in its place."""
    boxes = [posting.enclosure_id for posting in postings.values() if posting.enclosure_id]
    keys = [posting.place.walk_key for posting in postings.values() if posting.place]
    if not boxes and not keys:
        return {}
    inside = Q(enclosure__in=boxes)
    for key in _outermost(keys):
        inside |= Q(enclosure__place__walk_key__startswith=key)
    rows = Stay.objects.open().filter(inside).select_related("specimen__taxon", "enclosure__place")
    found: dict[int, set[Bands]] = defaultdict(set)
    for stay in rows:
        key = stay.enclosure.place.walk_key if stay.enclosure.place else ""
        for pk, posting in postings.items():
            in_place = posting.place is not None and key.startswith(posting.place.walk_key)
            if in_place or posting.enclosure_id == stay.enclosure_id:
                found[pk].add(bands_in(stay.enclosure, stay.specimen.taxon))
    return {pk: list(wanted) for pk, wanted in found.items()}


def _outermost(keys: Iterable[str]) -> list[str]:
    """The places that stand in no other of them."""
    kept: list[str] = []
    for key in sorted(set(keys)):
        if not kept or not key.startswith(kept[-1]):
            kept.append(key)
    return kept


def _wish(sensor: Sensor, posting: Posting | None, suiting: list[Bands]) -> Wish:
    own_humidity = _given(sensor.humidity_min, sensor.humidity_max, "the band of this sensor")
    own_celsius = _given(sensor.celsius_min, sensor.celsius_max, "the band of this sensor")
    humidity = own_humidity or what_suits_all(humidity for humidity, _ in suiting)
    celsius = own_celsius or what_suits_all(celsius for _, celsius in suiting)
    notes = [
        f"{what}: {clash.says(unit)}. Give this sensor a band of its own."
        for what, unit, clash in (("Temperature", "°C", celsius), ("Humidity", "%", humidity))
        if isinstance(clash, Clash)
    ]
    in_box = posting is not None and posting.enclosure_id is not None
    rings = ["celsius"] if celsius and not isinstance(celsius, Clash) else []
    if not isinstance(humidity, Clash) and humidity and (in_box or own_humidity):
        rings.append("humidity")
    elif humidity and not isinstance(humidity, Clash):
        notes.append("The air of a room is drier than that of a box: its humidity is shown, and is no alarm.")
    return Wish(
        celsius if isinstance(celsius, Band) else OPEN,
        humidity if isinstance(humidity, Band) else OPEN,
        tuple(rings),
        tuple(notes),
        sensor.night_drop,
    )
