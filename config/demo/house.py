"""Where the invented animals stand: one room, three racks, a tray of cups; and who filled which dish when."""

from __future__ import annotations

from datetime import date

from collection.models import Specimen
from collection.stages import Lifestyle
from config.demo.animals import TRAY
from config.demo.history import Made
from husbandry.models import Enclosure, Place, Stay, Upkeep
from husbandry.rhythm import water_interval
from husbandry.services import renumber_walk

RACKS = {"Rack A": ("A1", "A2", "A3", "A4"), "Rack B": ("B1", "B2", "B3"), "Rack C": ("C1", "C2", "C3")}
WATER_DAYS_BACK = 60


def build_places() -> dict[str, Place]:
    """The room, its racks and shelves, in walking order; by name."""
    room = Place.objects.create(name="Back room", kind="room", order=1)
    places = {"Back room": room}
    for order, (name, shelves) in enumerate(RACKS.items(), start=1):
        rack = places[name] = Place.objects.create(name=name, kind="rack", parent=room, order=order)
        for number, shelf in enumerate(shelves, start=1):
            places[shelf] = Place.objects.create(name=shelf, kind="shelf", parent=rack, order=number)
    places[TRAY] = Place.objects.create(name=TRAY, kind="tray", parent=room, order=len(RACKS) + 1)
    renumber_walk()
    return {place.name: place for place in Place.objects.all()}


def enclosure_for(made: Made, place: Place, position: int) -> Enclosure:
    """A box that fits: three times its size long, high for a climber."""
    taxon, size = made.specimen.taxon, made.animal.size
    high = taxon.lifestyle == "arboreal"
    length = max(round(size * (2 if high else 3) / 10) * 10, 60)
    return Enclosure(
        code=f"E-{made.animal.code}",
        place=place,
        position=position,
        kind=_kind(made),
        length_mm=length,
        width_mm=max(round(length * 0.66), 40),
        height_mm=round(size * (3 if high else 2)),
        substrate_mm={"fossorial": 200, "soil": 150}.get(taxon.lifestyle, 60 if high else 100),
        ventilation="both" if high else "cross",
        water_dish=made.animal.dish,
        water_days=made.animal.water_days,
    )


def _kind(made: Made) -> str:
    if made.animal.kind == "culture":
        return "tub"
    if made.specimen.taxon.group == "mantis":
        return "net"
    if made.animal.size < 40:
        return "cup"
    return "glass" if made.animal.size >= 120 else "acrylic"


def cups(places: dict[str, Place], young: list[Specimen], hatched: date) -> tuple[list[Enclosure], list[Stay]]:
    """One numbered cup for each spiderling of the tray."""
    boxes = [
        Enclosure(
            code=f"CUP-{number:02d}",
            place=places[TRAY],
            position=number,
            kind="cup",
            length_mm=60,
            width_mm=60,
            height_mm=70,
            substrate_mm=30,
            ventilation="top",
            water_dish=False,
        )
        for number in range(1, len(young) + 1)
    ]
    stays = [Stay(specimen=one, enclosure=box, begins=hatched) for one, box in zip(young, boxes, strict=True)]
    return boxes, stays


def water_for(made: Made, enclosure: Enclosure) -> list[Upkeep]:
    """Dishes filled at the usual rhythm, the last time inside it unless the animal's row says otherwise."""
    animal = made.animal
    if not animal.dish:
        return []
    lifestyle = Lifestyle(made.specimen.taxon.lifestyle or Lifestyle.TERRESTRIAL)
    every = animal.water_days or water_interval(lifestyle, mature_male=animal.mature)
    last = made.rng.randrange(every) if animal.water is None else animal.water
    days = range(min(last, animal.came), min(WATER_DAYS_BACK, animal.came) + 1, every)
    return [Upkeep(enclosure=enclosure, kind="water", on=made.ago(day)) for day in days]
