"""What happened to each invented animal: molts with growth, sex evidence, and years of meals around them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random

from django.utils import timezone

from collection.models import Measurement, Molt, SexEvidence, Specimen
from collection.stages import Group, Stage
from config.demo.animals import Animal
from husbandry.models import Feeding

LONGEST = 1100  # days of meals that are made up at most
GROWTH = 1.22  # a molt of these animals, in size
CARAPACE = 0.37  # of the leg span
PREY = [
    (12, "fruit fly", 2.5), (25, "pinhead cricket", 4), (50, "small cricket", 7), (90, "cricket", 12),
    (150, "cricket", 18), (1000, "roach", 30),
]  # fmt: skip


@dataclass
class Made:
    """An animal as stored, with what it was made from."""

    animal: Animal
    specimen: Specimen
    today: date
    rng: Random

    def ago(self, days: int) -> date:
        """The day so many days before today."""
        return self.today - timedelta(days=days)

    @property
    def is_spider(self) -> bool:
        """Measured across the legs, and sexed by skins or hooks."""
        return self.specimen.taxon.group in {Group.TARANTULA.value, Group.TRUE_SPIDER.value}


def molts_of(made: Made) -> list[Molt]:
    """The molts seen in the house, oldest first, each with the size after it; some were found a few days later."""
    animal = made.animal
    count = len(animal.molts)
    sizes = _sizes(animal, count)
    rows = []
    for number, days in enumerate(reversed(animal.molts)):
        newest = number == count - 1
        size, carapace = sizes[number]
        found_later = not newest and made.rng.random() < 0.2
        measured = made.specimen.taxon.size_measure == "leg_span"
        rows.append(
            Molt(
                specimen=made.specimen,
                earliest=made.ago(days + (3 if found_later else 0)),
                latest=made.ago(days),
                leg_span_mm=size if measured else None,
                carapace_mm=carapace if made.is_spider else None,
                matured=animal.mature and newest,
                exuvia_kept=made.is_spider and made.rng.random() < 0.8,
            )
        )
    return rows


def _sizes(animal: Animal, count: int) -> list[tuple[float, float]]:
    """Leg span and carapace after each molt, oldest first: no two molts grow alike, and no two hands measure alike."""
    rng = Random(f"sizes of {animal.code}")  # its own, so that the rest of the story does not depend on it
    size, found = animal.size, []
    for _ in range(count):
        found.append((round(size, 1), round(size * CARAPACE * rng.uniform(0.985, 1.015), 1)))
        size /= GROWTH * rng.uniform(0.95, 1.05)
    return found[::-1]


def size_of(made: Made) -> Measurement | None:
    """The size now, where no molt tells it; an adult group is not measured."""
    animal = made.animal
    by_body = made.specimen.taxon.size_measure == "body"
    if animal.kind != "single" or (animal.molts and not by_body):
        return None
    day = made.ago(animal.molts[0] if animal.molts else min(animal.came, 2))
    sizes = {"body_mm": animal.size} if by_body else {"leg_span_mm": animal.size}
    grub = made.specimen.taxon.group == Group.BEETLE.value  # its size does not tell its stage
    return Measurement(
        specimen=made.specimen, earliest=day, latest=day, stage_seen=Stage.YOUNG.value if grub else None, **sizes
    )


def evidence_of(made: Made, molts: list[Molt]) -> Iterator[SexEvidence]:
    """What the sex is known from, in the way of its group."""
    animal = made.animal
    finding = {"F": "female", "f": "female", "M": "male", "m": "male"}.get(animal.sex, "")
    if not finding:
        return
    if animal.sex in "fm":
        yield _seen(made, "ventral" if made.is_spider else "seller", finding, made.ago(min(animal.came, 40)))
    elif made.specimen.taxon.group == Group.TARANTULA.value and not animal.mature:
        for molt in molts[-3:]:
            yield _seen(made, "exuvia", finding, molt.latest, molt)
    else:
        for looked_by in ("keeper", "breeder"):
            newest = molts[-1] if animal.mature else None
            yield _seen(made, _method(made), finding, made.ago(animal.molts[0]), newest, looked_by)


def _method(made: Made) -> str:
    group = made.specimen.taxon.group
    if made.animal.mature:
        return "mature_male"
    return {"true_spider": "epigyne", "scorpion": "pectines", "mantis": "segments"}.get(group, "record")


def _seen(
    made: Made, method: str, finding: str, day: date, molt: Molt | None = None, looked_by: str = "keeper"
) -> SexEvidence:
    size = molt.leg_span_mm if molt else made.animal.size
    return SexEvidence(
        specimen=made.specimen,
        earliest=day,
        latest=day,
        method=method,
        finding=finding,
        size_mm=size if made.is_spider else None,
        lens="loupe" if method == "exuvia" else "",
        molt=molt,
        looked_by=looked_by,
    )


def meals_of(made: Made) -> Iterator[Feeding]:
    """Meals at about its rhythm, none while hardening, offers refused before a molt; the last ones as stated."""
    animal = made.animal
    if animal.fed is None:
        return
    day = min(animal.came - 5, LONGEST)
    while day > animal.fed + animal.every // 2:
        outcome = _outcome(made, day)
        if outcome:
            yield _meal(made, day, outcome)
        day -= max(2, round(animal.every * made.rng.uniform(0.75, 1.3)))
    yield _meal(made, animal.fed, "taken")
    for refused in animal.refused:
        yield _meal(made, refused, "refused")


def _outcome(made: Made, day: int) -> str:
    """What became of an offer so many days ago: nothing is offered around a molt."""
    rest = 12 if made.animal.every > 8 else 5
    for molt in made.animal.molts:
        if molt - rest < day <= molt + 2:
            return ""
        if molt < day <= molt + 2 * rest:
            return "refused" if made.rng.random() < 0.7 else ""
    return "refused" if made.rng.random() < 0.03 else "taken"


def _meal(made: Made, day: int, outcome: str) -> Feeding:
    on = made.ago(day)
    _, prey, length = next(row for row in PREY if made.animal.size <= row[0])
    at = timezone.make_aware(datetime.combine(on, time(19, made.rng.randrange(60))))
    return Feeding(specimen=made.specimen, on=on, prey=prey, prey_mm=length, outcome=outcome, logged_at=at)
