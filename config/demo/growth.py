"""A clutch raised from the sac with its exuviae kept, a molt that nobody saw, and a tray of thirty kept as one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING

from collection.models import GroupCount, Molt, MoltSign, Specimen, Taxon
from collection.premolt import PremoltSign
from husbandry.models import Enclosure, Feeding, Stay

if TYPE_CHECKING:
    from config.demo.load import Builder

SEED = 7_1890
CLUTCH, TAXON, SHELF = "AG/2024", "Acanthoscurria geniculata", "C3"
RAISED = 9
HATCHED = 612  # days ago
INTERVALS = (14, 28, 33, 41, 52, 63, 78, 96, 118)  # days, each about 1.23 times the one before
FIRST_MM, RATIO = 1.4, 1.38  # carapace at 2i, growth at a molt
SPAN = 2.7  # leg span in carapaces
UNSEEN = {3: 6}  # of which animal which instar was never logged
ON_SKIN = {(2, 7), (2, 8)}
LOST_LEGS = {(5, 6)}
TRAY_CODE, TRAY_TAXON = "N-030", "Tliltocatl albopilosus"
TRAY = ((52, 30, 2), (19, 22, 3), (3, 8, 4))  # days ago, how many, to which instar
SIGNS = (("G-002", 9, PremoltSign.BALD_DARK), ("G-002", 6, PremoltSign.SLUGGISH), ("C-004", 40, PremoltSign.CLOSED))


def from_the_sac(molts: Iterable[Molt]) -> Iterator[Molt]:
    """The molts of spiderlings in their order, counted from the first that feeds."""
    reached: dict[int, int] = {}
    for molt in molts:
        reached[molt.specimen_id] = molt.instar = reached.get(molt.specimen_id, 1) + 1
        yield molt


def build(builder: Builder) -> None:
    """The clutch, the tray, and signs of molts to come."""
    rng = Random(SEED)
    taxa = {taxon.name: taxon for taxon in Taxon.objects.filter(name__in=(TAXON, TRAY_TAXON))}
    young = builder.keep(_animal(builder, f"AG-{n:03d}", taxa[TAXON], HATCHED, CLUTCH) for n in range(1, RAISED + 1))
    [tray] = builder.keep([_animal(builder, TRAY_CODE, taxa[TRAY_TAXON], 66, "N/2026", kind="group")])
    builder.keep([GroupCount(specimen=tray, count=30, earliest=builder.ago(66), latest=builder.ago(66))])
    _house(builder, [*young, tray])
    builder.keep(molt for number, one in enumerate(young, start=1) for molt in _raised(builder, number, one, rng))
    builder.keep(
        Molt(specimen=tray, earliest=builder.ago(ago), latest=builder.ago(ago), animals=n, instar=instar)
        for ago, n, instar in TRAY
    )
    builder.keep(
        Feeding(specimen=one, on=builder.ago(ago), prey="small cricket", prey_mm=6, number=1, outcome="taken")
        for one in (*young, tray)
        for ago in (16, 9, 3)
    )
    builder.keep(
        MoltSign(specimen=builder.made[code].specimen, earliest=builder.ago(ago), latest=builder.ago(ago), sign=sign)
        for code, ago, sign in SIGNS
    )


def _animal(builder: Builder, code: str, taxon: Taxon, hatched: int, clutch: str, kind: str = "single") -> Specimen:
    day = builder.ago(hatched)
    return Specimen(
        code=code,
        tag=builder.tag(),
        taxon=taxon,
        kind=kind,
        clutch=clutch,
        hatched_earliest=day,
        hatched_latest=day,
        acquired_earliest=day,
        acquired_latest=day,
        how="bred",
        origin="C",
    )


def _house(builder: Builder, animals: list[Specimen]) -> None:
    """A box each at the end of a shelf."""
    place = builder.places[SHELF]
    last = Enclosure.objects.filter(place=place).count()
    boxes = builder.keep(
        Enclosure(
            code=f"E-{one.code}", place=place, position=last + n, kind="acrylic", length_mm=400, width_mm=300,
            height_mm=220, substrate_mm=120, ventilation="cross", water_dish=False,
        )
        for n, one in enumerate(animals, start=1)
    )  # fmt: skip
    since = [one.acquired_earliest or builder.today for one in animals]
    builder.keep(
        Stay(specimen=one, enclosure=box, begins=day) for one, box, day in zip(animals, boxes, since, strict=True)
    )


def _raised(builder: Builder, number: int, animal: Specimen, rng: Random) -> Iterator[Molt]:
    """Every molt from 2i on, its size, and where the skin lies; the pace and the ratio are the animal's own."""
    ratio, pace = RATIO * rng.uniform(0.97, 1.03), rng.uniform(0.93, 1.07)
    day = builder.ago(HATCHED)
    for step, interval in enumerate(INTERVALS):
        day += timedelta(days=round(interval * pace * rng.uniform(0.95, 1.05)))
        instar = step + 2
        if UNSEEN.get(number) == instar:
            continue
        told = instar - (number in UNSEEN and instar > UNSEEN[number])
        skin = (number, instar) in ON_SKIN
        size = FIRST_MM * ratio ** (step - skin) * rng.uniform(0.985, 1.015)
        kept = number != 4 or instar > 5
        yield Molt(
            specimen=animal,
            earliest=day,
            latest=day + timedelta(days=2 if step > 5 and rng.random() < 0.3 else 0),
            instar=told,
            carapace_mm=round(size, 1),
            leg_span_mm=round(size * SPAN, 0) if step > 1 else None,
            on_skin=skin,
            went="legs" if (number, instar) in LOST_LEGS else "fine",
            exuvia_kept=kept,
            exuvia_place=f"box {number}" if kept else "",
        )
