"""Loading the invented collection, relative to any day; the same day gives the same collection."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction
from django.utils import timezone
from simple_history.utils import bulk_create_with_history

from collection import dues, tags, taxa
from collection.models import Arrival, Contact, Death, Departure, GroupCount, Note, Receipt, Specimen, Taxon
from config.demo import (
    animals,
    brood,
    clear,
    climate,
    clutches,
    feeders,
    foretold,
    growth,
    health,
    history,
    house,
    pairs,
    past,
    pictures,
    plan,
    sexes,
)
from config.demo.animals import ANIMALS, Animal
from config.demo.history import Made
from husbandry.models import Hold, Stay

MARK = "invented-collection"  # key of the receipt that marks a database as the demo
REASON = "invented"
SEED = 20_260_301


class NotEmpty(Exception):
    """Said in the terminal, word for word."""


def loaded_for() -> date | None:
    """The day for which the invented collection here was made; None where there is none."""
    receipt = Receipt.objects.filter(key=MARK).first()
    return date.fromisoformat(receipt.label) if receipt else None


def refuse_among_real_animals() -> None:
    """An invented collection never lands among real animals, nor beside somebody's account."""
    if loaded_for() is not None:
        return
    if Specimen.objects.exists() or User.objects.exists():
        raise NotEmpty(
            "This database is somebody's own. The invented collection only goes into an empty one: "
            "use --demo, or name a new folder with --data DIR."
        )


def load(today: date) -> None:
    """Fill the database; an older invented collection goes first. One transaction: all or nothing."""
    taxa.seed()
    keeper = User.objects.filter(is_superuser=True).order_by("pk").first()
    with transaction.atomic():
        if loaded_for() is not None:
            clear.everything()
        builder = Builder(today, keeper)
        builder.build()
        Receipt.objects.create(key=MARK, at=timezone.now(), label=today.isoformat())
        dues.refresh_all()


class Builder:
    """Makes the rows of one invented collection, kind after kind, each in bulk and with its history."""

    def __init__(self, today: date, keeper: User | None) -> None:
        self.today = today
        self.keeper = keeper
        self.rng = Random(SEED)
        self.made: dict[str, Made] = {}

    def build(self) -> None:
        """Everything, in the order in which one thing rests on another."""
        self.contacts = self.keep([Contact(name=name, note=note) for name, note in animals.CONTACTS])
        self.animals()
        self.homes()
        self.lives()
        self.ends()
        brood.build(self)
        plan.at_stud(self)
        self.spiderlings()
        health.build(self)
        clutches.build(self)
        past.build(self)
        growth.build(self)
        feeders.build(self)
        foretold.build(self)
        climate.build(self)

    def keep(self, rows: Iterable[models.Model]) -> list[Any]:
        """Store rows of one model with their history, as the keeper's."""
        found = list(rows)
        if not found:
            return []
        model = type(found[0])
        made: list[Any] = bulk_create_with_history(
            found, model, default_user=self.keeper, default_change_reason=REASON, batch_size=400
        )
        return made

    def ago(self, days: int) -> date:
        """The day so many days before."""
        return self.today - timedelta(days=days)

    def animals(self) -> None:
        """The animals themselves, and the last box that came."""
        [box] = self.keep([self._arrival()])
        known = {taxon.name: taxon for taxon in Taxon.objects.all()}
        rows = [self.specimen(animal, known[animal.taxon], box) for animal in ANIMALS]
        for animal, specimen in zip(ANIMALS, self.keep(rows), strict=True):
            self.made[animal.code] = Made(animal, specimen, self.today, self.rng)
        plan.animals(self, known)

    def _arrival(self) -> Arrival:
        harbour = self.contacts[2]
        return Arrival(
            on=self.ago(2),
            contact=harbour,
            expected=1,
            alive=1,
            box_celsius=21,
            quarantine_days=60,
            note="Came by night train.",
        )

    def specimen(self, animal: Animal, taxon: Taxon, box: Arrival | None = None) -> Specimen:
        hatched = self.ago(animal.hatched).replace(day=1)
        month_end = (hatched + timedelta(days=32)).replace(day=1) - timedelta(days=1)
        came = self.ago(animal.came)
        wild = animal.origin == "W"
        return Specimen(
            code=animal.code,
            tag=self.tag(),
            name=animal.name,
            taxon=taxon,
            kind=animal.kind,
            hatched_earliest=None if wild else hatched,
            hatched_latest=None if wild else min(month_end, self.today),
            acquired_earliest=came,
            acquired_latest=came,
            how=animal.how,
            origin=animal.origin,
            locality=animal.locality,
            acquired_from=self.contacts[animal.contact],
            arrival=box if animal.code == "H-002" else None,
            entered_at=self.evening(came),
        )

    def evening(self, day: date) -> datetime:
        """When the keeper writes things down."""
        return timezone.make_aware(datetime.combine(day, time(18)))

    def tag(self) -> str:
        """A tag drawn from the seed."""
        return tags.draw(lambda: self.rng.getrandbits(64))

    def homes(self) -> None:
        """Places, boxes, who lives where, and the water."""
        self.places = house.build_places()
        positions: dict[str, int] = {}
        boxes = []
        for made in self.made.values():
            shelf = made.animal.shelf
            positions[shelf] = positions.get(shelf, 0) + 1
            boxes.append(house.enclosure_for(made, self.places[shelf], positions[shelf]))
        free = self.places["B3"]
        kept = self.keep(boxes)
        self.keep(house.empty_boxes(free, positions.get("B3", 0)))
        gone = {code: days for code, days, *_ in (*pairs.DEATHS, *pairs.LEFT, *plan.LENT)}
        stays, water = [], []
        for made, box in zip(self.made.values(), kept, strict=True):
            code = made.animal.code
            ends = self.ago(gone[code]) if code in gone else None
            stays.append(Stay(specimen=made.specimen, enclosure=box, begins=self.ago(made.animal.came), ends=ends))
            water += house.water_for(made, box) if ends is None else []
        self.keep(stays)
        rhythms, done = house.rounds(self.places, kept, self.today)
        self.keep(rhythms)
        self.keep([*water, *done])

    def lives(self) -> None:
        """Molts, sizes, evidence, meals, counts, notes and holds."""
        molts = {code: history.molts_of(made) for code, made in self.made.items()}
        self.keep(molt for rows in molts.values() for molt in rows)
        self.keep(pictures.pictures_of(self.made, molts, Random(SEED)))
        self.keep(size for made in self.made.values() if (size := history.size_of(made)))
        self.keep(seen for code, made in self.made.items() for seen in history.evidence_of(made, molts[code]))
        sexes.build(self)
        self.keep(meal for made in self.made.values() for meal in history.meals_of(made))
        self.keep(
            GroupCount(specimen=made.specimen, earliest=self.ago(days), latest=self.ago(days), count=n, method=how)
            for made in self.made.values()
            for days, n, how in made.animal.counts
        )
        notes = [*pairs.NOTES, *((a.code, min(a.came, 60), a.note) for a in ANIMALS if a.note)]
        self.keep(
            Note(specimen=self.made[code].specimen, earliest=self.ago(days), latest=self.ago(days), text=text)
            for code, days, text in notes
        )
        self.keep(
            Hold(specimen=self.made[c].specimen, begins=self.ago(a), ends=self.ago(b), kind=kind, reason=why)
            for c, a, b, kind, why in pairs.HOLDS
        )

    def ends(self) -> None:
        """Deaths and departures."""
        self.keep(
            Death(specimen=self.made[c].specimen, earliest=self.ago(d), latest=self.ago(d), cause=why, post_mortem=text)
            for c, d, why, text in pairs.DEATHS
        )
        self.keep(
            Departure(
                specimen=self.made[c].specimen, kind="passed_on", on=self.ago(d), contact=self.contacts[who], note=note
            )
            for c, d, who, note in pairs.LEFT
        )

    def spiderlings(self) -> None:
        """A tray of singles out of the fern's sac, each in its cup."""
        dam = self.made["T-001"].specimen
        hatched = self.ago(pairs.SACS[0].ended or 0)
        rows = [self._young(dam, number, hatched) for number in range(1, animals.SPIDERLINGS + 1)]
        young = self.keep(rows)
        boxes, stays = house.cups(self.places, young, hatched)
        self.keep(boxes)
        self.keep(stays)
        self.keep(house.misted(boxes, self.today))
        made = [Made(self._cup_row(one), one, self.today, self.rng) for one in young]
        self.keep(growth.from_the_sac(molt for one in made for molt in history.molts_of(one)))
        self.keep(meal for one in made for meal in history.meals_of(one))
        sexes.of_the_tray(self, made)

    def _young(self, dam: Specimen, number: int, hatched: date) -> Specimen:
        return Specimen(
            code=f"S-{number:03d}",
            tag=self.tag(),
            taxon=dam.taxon,
            dam=dam,
            clutch="T-001/1",
            hatched_earliest=hatched,
            hatched_latest=hatched,
            acquired_earliest=hatched,
            acquired_latest=hatched,
            how="bred",
            origin="C",
            entered_at=self.evening(hatched),
        )

    def _cup_row(self, young: Specimen) -> Animal:
        """Sizes spread as in any sac; most were fed in the last days, a few wait."""
        size = round(self.rng.triangular(15, 32, 22), 1)
        first = self.rng.randrange(8, 45)
        molts = (first, first + self.rng.randrange(35, 50), first + self.rng.randrange(75, 95))
        fed = self.rng.choice((1, 2, 2, 3, 3, 4, 6)) if first > 12 else self.rng.randrange(1, 3)
        return Animal(young.code, "", TRAY_SHELF, size, 285, 280, 4, fed, molts)


TRAY_SHELF = animals.TRAY
