"""Who lived here before, in the invented collection: a clutch raised and given away, and animals that died."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from random import Random
from typing import TYPE_CHECKING

from django.utils import timezone

from collection import tags
from collection.models import Death, Departure, House, Molt, Specimen, Taxon
from collection.models.house import ONLY_ROW

if TYPE_CHECKING:
    from config.demo.load import Builder

SEED = 20_190_507
GROWTH = 1.24


@dataclass(frozen=True)
class Lot:
    """Animals that came together: how old, how long ago, the size they came with, how long they were kept at most."""

    taxon: str
    number: int
    came: int  # days ago
    age: int  # days, when they came
    size: float  # mm, when they came
    first_interval: int  # days to the first molt seen here
    origin: str
    how: str
    clutch: str = ""
    kept: tuple[int, int] = (300, 900)  # days from coming to leaving, for those that lived
    yearly_loss: float = 0.12
    price: int = 0


LOTS = (
    Lot("Tliltocatl albopilosus", 24, 1620, 0, 6, 34, "C", "bred", "T-000/1", (420, 1000), 0.14),
    Lot("Phidippus regius", 14, 900, 20, 4, 18, "C", "bred", "J-000/1", (120, 420), 0.45),
    Lot("Grammostola pulchra", 10, 2400, 300, 24, 95, "C", "bought", "", (900, 2300), 0.06, 35),
    Lot("Poecilotheria regalis", 10, 1900, 120, 30, 60, "C", "swapped", "", (500, 1700), 0.13, 28),
    Lot("Avicularia avicularia", 12, 1500, 700, 80, 150, "W", "bought", "", (300, 1300), 0.32, 45),
)
CAUSES = {
    "spiderling": ("molt", "dehydration", "unknown", "unknown", "fall"),
    "grown": ("molt", "parasite", "fall", "unknown", "infection"),
}


def build(builder: Builder) -> None:
    """The animals, their molts, and how each ended; after this none is here."""
    rng = Random(SEED)
    builder.keep([House(pk=ONLY_ROW, currency="EUR")])
    known = {taxon.name: taxon for taxon in Taxon.objects.all()}
    rows = [(lot, known[lot.taxon]) for lot in LOTS for _ in range(lot.number)]
    animals = [_animal(builder, lot, taxon, number, rng) for number, (lot, taxon) in enumerate(rows, start=1)]
    made = builder.keep(animals)
    stays = [_stay(lot, rng) for lot, _ in rows]
    lives = list(zip(made, (lot for lot, _ in rows), stays, strict=True))
    builder.keep(molt for one, lot, (days, _) in lives for molt in _molts(builder, one, lot, days, rng))
    builder.keep(
        Death(specimen=one, earliest=builder.ago(lot.came - days), latest=builder.ago(lot.came - days), cause=cause)
        for one, lot, (days, cause) in lives
        if cause
    )
    builder.keep(
        Departure(
            specimen=one,
            kind="passed_on",
            on=builder.ago(lot.came - days),
            contact=rng.choice(builder.contacts),
            price=20 if lot.clutch else None,
        )
        for one, lot, (days, cause) in lives
        if not cause
    )


def _animal(builder: Builder, lot: Lot, taxon: Taxon, number: int, rng: Random) -> Specimen:
    came, hatched = builder.ago(lot.came), builder.ago(lot.came + lot.age)
    wild = lot.origin == "W"
    return Specimen(
        code=f"R-{number:03d}",
        tag=tags.draw(lambda: rng.getrandbits(64)),
        taxon=taxon,
        clutch=lot.clutch,
        hatched_earliest=None if wild else hatched,
        hatched_latest=None if wild else hatched,
        acquired_earliest=came,
        acquired_latest=came,
        how=lot.how,
        origin=lot.origin,
        price=lot.price or None,
        entered_at=timezone.make_aware(datetime.combine(came, time(18))),
    )


def _stay(lot: Lot, rng: Random) -> tuple[int, str]:
    """Days from coming to the end, and the cause where the end was a death; the young die more easily."""
    leaves = rng.randrange(*lot.kept)
    dies = round(rng.weibullvariate(365 / lot.yearly_loss, 0.8))
    if dies >= leaves:
        return leaves, ""
    if lot.how == "bought" and dies < 4:
        return dies, "shipping"
    return max(dies, 1), rng.choice(CAUSES["spiderling" if dies < 200 and lot.age < 100 else "grown"])


def _molts(builder: Builder, one: Specimen, lot: Lot, days: int, rng: Random) -> list[Molt]:
    """Intervals that lengthen, as far as it was here."""
    found, size, interval = [], lot.size, float(lot.first_interval)
    at = interval * rng.uniform(0.4, 1.2)
    largest = one.taxon.adult_size_mm or 100.0
    while at < days:
        day = builder.ago(lot.came - int(at))
        later = min(rng.choice((0, 0, 0, 2)), days - int(at))
        size = min(size * GROWTH, largest)
        found.append(
            Molt(
                specimen=one,
                earliest=day,
                latest=day + timedelta(days=later),
                leg_span_mm=round(size, 1) if one.taxon.size_measure == "leg_span" else None,
                exuvia_kept=rng.random() < 0.5,
            )
        )
        interval *= rng.lognormvariate(0.16, 0.18)
        at += max(interval, 8.0)
    return found
