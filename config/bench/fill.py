"""Filling a throw-away database: rows in bulk, with the history that every write keeps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from itertools import islice
from random import Random
from typing import Any

from django.db import connection, models, transaction
from django.utils import timezone

from breeding.models import Meeting, Pairing, Sign
from collection import dues, tags, taxa
from collection.models import Measurement, Molt, SexEvidence, Specimen, Taxon
from config.bench.population import SEED, SPIDERS, Sample, meal_days, sample
from husbandry.models import Enclosure, Feeding, Place, Stay, Upkeep
from husbandry.services import renumber_walk

PER_SHELF, SHELVES = 20, 5
CHUNK = 50_000
THIRSTY_SHARE = 0.05  # assumption: dishes forgotten on any day
FED_GROUPS = ("tarantula", "true_spider", "scorpion", "mantis", "centipede", "whip_spider")
KEPT: tuple[type[models.Model], ...] = (
    *(Specimen, Place, Enclosure, Stay, Molt, SexEvidence, Measurement, Upkeep, Pairing, Meeting, Sign, Feeding),
)
MEAL = (
    'INSERT INTO husbandry_feeding (specimen_id, "on", prey, prey_mm, number, outcome, note, logged_at) '
    "VALUES (%s, %s, 'cricket', 12, 1, %s, '', %s)"
)


def fill(size: int, feedings: int, today: date) -> None:
    """A collection of `size` animals with so many feedings each; due dates are left to `dues.refresh_all`."""
    taxa.seed()
    rng = Random(SEED)
    samples = samples_of(size)
    with fast_writes(), transaction.atomic():
        animals = _animals(samples, today)
        enclosures = _homes(animals, today)
        _molts(samples, animals, today)
        _water(enclosures, today, rng)
        _pairs(samples, animals, today)
    with fast_writes():
        _meals(samples, animals, feedings, today)
        with transaction.atomic():
            for model in KEPT:
                copy_into_history(model)


def samples_of(size: int) -> list[Sample]:
    """The animals to make; the same size gives the same ones."""
    rng = Random(SEED)
    known = list(Taxon.objects.filter(group__in=FED_GROUPS).order_by("name"))
    return [sample(number, known, rng) for number in range(1, size + 1)]


@contextmanager
def fast_writes() -> Iterator[None]:
    """No waiting for the disk while a throw-away database is filled."""
    _synchronous("OFF")
    try:
        yield
    finally:
        _synchronous("FULL")


def _synchronous(level: str) -> None:
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA synchronous={level}")


def _animals(samples: list[Sample], today: date) -> list[Specimen]:
    came = {one.number: today - timedelta(days=one.molted + 900) for one in samples}
    drawn = _tags(len(samples), SEED)
    rows = [
        Specimen(
            code=one.code,
            tag=drawn.pop(),
            taxon=one.taxon,
            hatched_earliest=came[one.number] - timedelta(days=120),
            hatched_latest=came[one.number] - timedelta(days=90),
            acquired_earliest=came[one.number],
            acquired_latest=came[one.number],
            how="bought",
            origin="C",
        )
        for one in samples
    ]
    return Specimen.objects.bulk_create(rows, batch_size=1000)


def _tags(count: int, seed: int) -> list[str]:
    """Tags of which no two agree; of 20,000 drawn blindly two do once in 170 times, and the filling would fail."""
    rng, found = Random(seed), set[str]()
    while len(found) < count:
        found.add(tags.draw(rng))
    return sorted(found)


def _homes(animals: list[Specimen], today: date) -> list[Enclosure]:
    """One room; racks of five shelves with twenty boxes each, in walking order."""
    room = Place.objects.create(name="Room", kind="room")
    racks = -(-len(animals) // (PER_SHELF * SHELVES))
    made = Place.objects.bulk_create(
        Place(name=f"Rack {n}", kind="rack", parent=room, order=n) for n in range(1, racks + 1)
    )
    shelves = Place.objects.bulk_create(
        Place(name=f"Shelf {n}", kind="shelf", parent=rack, order=n) for rack in made for n in range(1, SHELVES + 1)
    )
    renumber_walk()
    drawn = _tags(len(animals), SEED + 1)
    boxes = [
        Enclosure(
            code=f"E-{number:05d}",
            tag=drawn.pop(),
            place=shelves[number // PER_SHELF],
            position=number % PER_SHELF + 1,
            kind="box",
            length_mm=200,
            width_mm=150,
            height_mm=150,
        )
        for number in range(len(animals))
    ]
    enclosures = Enclosure.objects.bulk_create(boxes, batch_size=1000)
    begins = today - timedelta(days=800)
    stays = (Stay(specimen=a, enclosure=e, begins=begins) for a, e in zip(animals, enclosures, strict=True))
    Stay.objects.bulk_create(stays, batch_size=1000)
    return enclosures


def _molts(samples: list[Sample], animals: list[Specimen], today: date) -> None:
    rows, seen, sizes = [], [], []
    for one, animal in zip(samples, animals, strict=True):
        spider = animal.taxon.group in SPIDERS
        for days, size in one.molts():
            day = today - timedelta(days=days)
            span = size if animal.taxon.size_measure == "leg_span" else None
            carapace = round(size * 0.37, 1)
            rows.append(
                Molt(
                    specimen=animal, earliest=day, latest=day, leg_span_mm=span, carapace_mm=carapace, exuvia_kept=True
                )
            )
            if spider and size > 40:
                seen.append(_evidence(one, animal, day, size))
        if animal.taxon.size_measure == "body":
            sizes.append(Measurement(specimen=animal, earliest=day, latest=day, body_mm=one.size))
    Molt.objects.bulk_create(rows, batch_size=2000)
    SexEvidence.objects.bulk_create(seen, batch_size=2000)
    Measurement.objects.bulk_create(sizes, batch_size=2000)


def _evidence(one: Sample, animal: Specimen, day: date, size: float) -> SexEvidence:
    """A skin was read; one look in a hundred and twenty says the wrong sex."""
    wrong = (one.number + int(size)) % 120 == 0
    return SexEvidence(
        specimen=animal,
        earliest=day,
        latest=day,
        method="exuvia",
        finding="female" if one.female != wrong else "male",
        size_mm=size,
        lens="loupe",
        looked_by="keeper",
    )


def _water(enclosures: list[Enclosure], today: date, rng: Random) -> None:
    rows = []
    for box in enclosures:
        last = rng.randrange(10, 15) if rng.random() < THIRSTY_SHARE else rng.randrange(4)
        rows += [Upkeep(enclosure=box, kind="water", on=today - timedelta(days=back * 5 + last)) for back in range(3)]
    Upkeep.objects.bulk_create(rows, batch_size=2000)


def _pairs(samples: list[Sample], animals: list[Specimen], today: date) -> None:
    paired = [(one.paired, animal) for one, animal in zip(samples, animals, strict=True) if one.paired is not None]
    rows = Pairing.objects.bulk_create(Pairing(female=animal) for _, animal in paired)
    days = [today - timedelta(days=ago) for ago, _ in paired]
    Meeting.objects.bulk_create(
        Meeting(pairing=pairing, earliest=day, latest=day, insertions_left=1, insertions_right=1, ending="peace")
        for pairing, day in zip(rows, days, strict=True)
    )
    Sign.objects.bulk_create(
        Sign(female=animal, earliest=today - timedelta(days=3), latest=today - timedelta(days=3), kind="fattening")
        for number, (ago, animal) in enumerate(paired)
        if number % 4 == 0 and ago > 3
    )


def _meals(samples: list[Sample], animals: list[Specimen], feedings: int, today: date) -> None:
    """By far the most rows: written past the models, a chunk a transaction."""
    now = timezone.now()
    rows = (
        (animal.pk, day, outcome, now)
        for one, animal in zip(samples, animals, strict=True)
        for day, outcome in meal_days(one, feedings, today)
    )
    for chunk in _chunks(rows):
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.executemany(MEAL, chunk)


def _chunks(rows: Iterable[tuple[Any, ...]]) -> Iterator[list[tuple[Any, ...]]]:
    rest = iter(rows)
    while chunk := list(islice(rest, CHUNK)):
        yield chunk


def copy_into_history(model: type[models.Model]) -> None:
    """What simple_history would have kept of every creation: one row each."""
    history: type[models.Model] = model.history.model  # type: ignore[attr-defined]
    quote = connection.ops.quote_name
    there = {str(field.column) for field in model._meta.concrete_fields}
    columns = ", ".join(quote(str(f.column)) for f in history._meta.concrete_fields if str(f.column) in there)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {quote(history._meta.db_table)} ({columns}, history_date, history_type) "
            f"SELECT {columns}, %s, '+' FROM {quote(model._meta.db_table)}",
            [timezone.now()],
        )


def work_out() -> int:
    """All due dates; returns the number of animals."""
    return dues.refresh_all()
