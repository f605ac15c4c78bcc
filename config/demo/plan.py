"""The invented breeding lines: eight females and five males of three taxa, and their ancestors, most of them gone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from breeding.models import PossibleSire, SpermWeb
from collection.models import Death, Departure, SexEvidence, Specimen, Taxon
from config.demo.animals import Animal
from config.demo.history import Made

if TYPE_CHECKING:
    from config.demo.load import Builder

BABOON, BLUE, FIERCE = "Harpactira pulchripes", "Pterinopelma sazimai", "Pterinochilus murinus"
SHELF = "C4"
CAPE = "Eastern Cape"


@dataclass(frozen=True)
class Ancestor:
    """One that is no longer here: days since it hatched, its parents, days since it died or was passed on."""

    code: str
    taxon: str
    sex: str
    hatched: int
    dam: str = ""
    sire: str = ""
    clutch: str = ""
    gone: int = 700
    died: bool = True
    locality: str = ""


# Parents stand above their young.
ANCESTORS = (
    Ancestor("HP-F0", BABOON, "female", 6900, gone=3900, locality=CAPE),
    Ancestor("HP-F1", BABOON, "female", 5600, "HP-F0", gone=2600, locality=CAPE),
    Ancestor("HP-M1", BABOON, "male", 4700, gone=3300, locality=CAPE),
    Ancestor("HP-F2", BABOON, "female", 5400, gone=2500, locality=CAPE),
    Ancestor("HP-M2", BABOON, "male", 4650, gone=3300, locality=CAPE),
    Ancestor("HP-11", BABOON, "female", 3650, "HP-F1", "HP-M1", "HP-F1/1", 1500, locality=CAPE),
    Ancestor("HP-14", BABOON, "male", 3650, "HP-F1", "HP-M1", "HP-F1/1", 2300, locality=CAPE),
    Ancestor("HP-12", BABOON, "male", 3600, "HP-F2", "HP-M2", "HP-F2/1", 2300, locality=CAPE),
    Ancestor("HP-13", BABOON, "female", 3600, "HP-F2", "HP-M2", "HP-F2/1", 1200, False, CAPE),
    Ancestor("HP-21", BABOON, "female", 2500, "HP-11", "HP-12", "HP-11/1", 300, False, CAPE),
    Ancestor("HP-22", BABOON, "male", 2500, "HP-13", "HP-14", "HP-13/1", 1100, locality=CAPE),
    Ancestor("HP-23", BABOON, "female", 2500, "HP-13", "HP-14", "HP-13/1", 400, locality=CAPE),
    Ancestor("HP-M3", BABOON, "male", 2400, gone=1150, locality=CAPE),
    Ancestor("PS-F1", BLUE, "female", 3600, gone=900),
    Ancestor("PM-F1", FIERCE, "female", 2900, gone=800),
    Ancestor("PM-M1", FIERCE, "male", 2600, gone=1500),
    Ancestor("PM-M2", FIERCE, "male", 2600, gone=1480),
)

ANIMALS = (
    Animal("HP-001", BABOON, SHELF, 132, 1350, 1340, 9, 4, (95, 420), "F", name="Indigo", how="bred", locality=CAPE),
    Animal("HP-002", BABOON, SHELF, 128, 1350, 1340, 9, 6, (130, 470), "F", how="bred", locality=CAPE),
    Animal("HP-003", BABOON, SHELF, 125, 1600, 1590, 10, 3, (110, 460), "F", how="bred", locality=CAPE),
    Animal("HP-004", BABOON, SHELF, 135, 1900, 640, 10, 5, (150, 520), "F", contact=2, locality=CAPE),
    Animal("HP-005", BABOON, SHELF, 115, 1350, 1340, 7, 5, (70, 240), "M", True, how="bred", locality=CAPE),
    Animal("HP-006", BABOON, SHELF, 112, 1300, 1290, 7, 4, (45, 210), "M", True, how="bred", locality=CAPE),
    Animal("PS-001", BLUE, SHELF, 130, 1500, 1490, 11, 7, (90, 440), "F", how="bred"),
    Animal("PS-002", BLUE, SHELF, 128, 1500, 1490, 11, 8, (660, 1050), "F", how="bred"),
    Animal("PS-003", BLUE, SHELF, 118, 1100, 300, 7, 3, (100,), "M", True, contact=3),
    Animal("PS-004", BLUE, SHELF, 120, 1150, 420, 7, 100, (120, 300), "M", True, contact=0),
    Animal("PM-001", FIERCE, SHELF, 118, 1450, 1440, 10, 6, (120, 430), "F", how="bred"),
    Animal("PM-002", FIERCE, SHELF, 116, 1450, 1440, 10, 20, (6, 380), "F", how="bred"),
    Animal("PM-003", FIERCE, SHELF, 98, 900, 260, 7, 2, (60,), "M", True, how="loan", contact=1),
)  # fmt: skip

PARENTS = {
    "HP-001": ("HP-21", "HP-22", "HP-21/1"),
    "HP-002": ("HP-21", "HP-22", "HP-21/1"),
    "HP-003": ("HP-11", "HP-22", "HP-11/2"),
    "HP-005": ("HP-21", "HP-22", "HP-21/1"),
    "HP-006": ("HP-23", "HP-M3", "HP-23/1"),
    "PS-001": ("PS-F1", "", "PS-F1/1"),
    "PS-002": ("PS-F1", "", "PS-F1/1"),
    "PM-001": ("PM-F1", "", "PM-F1/1"),
    "PM-002": ("PM-F1", "", "PM-F1/1"),
}
POSSIBLE = {"PM-001": (("PM-M1", 0.6), ("PM-M2", 0.4))}
WEBS = (("HP-005", 40), ("HP-006", 12), ("PS-003", 60), ("PM-003", 30))
LENT = (("PS-004", 95, 0, "at stud with the valley breeder, back in spring"),)


def animals(builder: Builder, taxa: dict[str, Taxon]) -> None:
    """The lines, parents before their young."""
    known: dict[str, Specimen] = {}
    for row in ANCESTORS:
        [known[row.code]] = builder.keep([_ancestor(builder, row, taxa[row.taxon], known)])
    rows = []
    for animal in ANIMALS:
        specimen = builder.specimen(animal, taxa[animal.taxon])
        dam, sire, clutch = PARENTS.get(animal.code, ("", "", ""))
        specimen.dam, specimen.sire, specimen.clutch = known.get(dam), known.get(sire), clutch
        rows.append(specimen)
    for animal, specimen in zip(ANIMALS, builder.keep(rows), strict=True):
        builder.made[animal.code] = Made(animal, specimen, builder.today, builder.rng)
    _gone(builder, known)
    builder.keep(
        PossibleSire(young=builder.made[code].specimen, male=known[male], chance=chance)
        for code, males in POSSIBLE.items()
        for male, chance in males
    )


def _ancestor(builder: Builder, row: Ancestor, taxon: Taxon, known: dict[str, Specimen]) -> Specimen:
    hatched = builder.ago(row.hatched)
    day: dict[str, Any] = {"hatched_earliest": hatched, "hatched_latest": hatched + timedelta(days=20)}
    came = builder.ago(row.hatched - 30)
    return Specimen(
        code=row.code,
        tag=builder.tag(),
        taxon=taxon,
        dam=known.get(row.dam),
        sire=known.get(row.sire),
        clutch=row.clutch,
        acquired_earliest=came,
        acquired_latest=came,
        how="bred" if row.dam else "bought",
        origin="C",
        locality=row.locality,
        entered_at=builder.evening(came),
        **day,
    )


def _gone(builder: Builder, known: dict[str, Specimen]) -> None:
    """What sex they were, and how each of them left."""
    builder.keep(
        SexEvidence(
            specimen=known[row.code],
            earliest=builder.ago(row.gone + 100),
            latest=builder.ago(row.gone + 100),
            method="mature_male" if row.sex == "male" else "exuvia",
            finding=row.sex,
            size_mm=120.0,
            lens="loupe" if row.sex == "female" else "",
            looked_by="keeper",
        )
        for row in ANCESTORS
    )
    builder.keep(
        Death(specimen=known[row.code], earliest=builder.ago(row.gone), latest=builder.ago(row.gone), cause="unknown")
        for row in ANCESTORS
        if row.died
    )
    builder.keep(
        Departure(specimen=known[row.code], kind="passed_on", on=builder.ago(row.gone), contact=builder.contacts[0])
        for row in ANCESTORS
        if not row.died
    )


def at_stud(builder: Builder) -> None:
    """Sperm webs of the males, and who is lent."""
    builder.keep(
        SpermWeb(male=builder.made[code].specimen, earliest=builder.ago(days), latest=builder.ago(days))
        for code, days in WEBS
    )
    builder.keep(
        Departure(
            specimen=builder.made[code].specimen,
            kind="loan_out",
            on=builder.ago(days),
            contact=builder.contacts[who],
            note=note,
        )
        for code, days, who, note in LENT
    )
