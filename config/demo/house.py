"""Where the invented animals stand: one room, three racks, a tray of cups; and who filled which dish when."""

from __future__ import annotations

from datetime import date, timedelta

from collection.models import Specimen
from collection.stages import Lifestyle
from config.demo.animals import APART, TRAY
from config.demo.history import Made
from husbandry.models import Enclosure, Place, Stay, Upkeep, UpkeepRhythm
from husbandry.rhythm import water_interval
from husbandry.services import renumber_walk

RACKS = {"Rack A": ("A1", "A2", "A3", "A4"), "Rack B": ("B1", "B2", "B3"), "Rack C": ("C1", "C2", "C3", "C4")}
WATER_DAYS_BACK = 60
# Days between two rounds of what stands in a place, and how long ago the last one was.
ROUNDS = {"B1": ("misting", 4, 2), "Rack A": ("check", 14, 6), TRAY: ("misting", 3, 1)}
LATE = ("E-A-002", "misting", 5)  # the one that was passed over
SHALLOW = {"G-004": 40.0}  # mm of substrate: too little for the height of its box
EMPTY = 3


def build_places() -> dict[str, Place]:
    """The room, its racks and shelves, in walking order; by name."""
    room = Place.objects.create(name="Back room", kind="room", order=1)
    places = {"Back room": room}
    for order, (name, shelves) in enumerate(RACKS.items(), start=1):
        rack = places[name] = Place.objects.create(name=name, kind="rack", parent=room, order=order)
        for number, shelf in enumerate(shelves, start=1):
            places[shelf] = Place.objects.create(name=shelf, kind="shelf", parent=rack, order=number)
    Place.objects.create(name=APART, kind="shelf", parent=room, order=len(RACKS) + 2, quarantine=True)
    places[TRAY] = Place.objects.create(name=TRAY, kind="tray", parent=room, order=len(RACKS) + 1)
    renumber_walk()
    return {place.name: place for place in Place.objects.all()}


def enclosure_for(made: Made, place: Place, position: int) -> Enclosure:
    """A box that fits: more than three times its size long, high for a climber."""
    taxon, size = made.specimen.taxon, made.animal.size
    high = taxon.lifestyle == "arboreal"
    length = max(round(size * (2 if high else 3.4) / 10) * 10, 60)
    return Enclosure(
        code=f"E-{made.animal.code}",
        place=place,
        position=position,
        kind=_kind(made),
        length_mm=length,
        width_mm=max(round(length * 0.7), 40),
        height_mm=round(60 + size * 3.4) if high else _low(made, size),
        substrate_mm=SHALLOW.get(
            made.animal.code, {"fossorial": 200, "soil": 150}.get(taxon.lifestyle, 60 if high else 100)
        ),
        ventilation="both" if high else "cross",
        water_dish=made.animal.dish,
        water_days=made.animal.water_days,
    )


def _low(made: Made, size: float) -> int:
    """High enough to turn round in, above its substrate, and no higher: ground dwellers fall."""
    depth = {"fossorial": 200, "soil": 150}.get(made.specimen.taxon.lifestyle, 100)
    return round(size * 2 if made.animal.code in SHALLOW else depth + min(size * 1.2, 190))


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
            length_mm=100,
            width_mm=100,
            height_mm=80,
            substrate_mm=30,
            ventilation="top",
            water_dish=False,
        )
        for number in range(1, len(young) + 1)
    ]
    stays = [Stay(specimen=one, enclosure=box, begins=hatched) for one, box in zip(young, boxes, strict=True)]
    return boxes, stays


def empty_boxes(place: Place, positions: int) -> list[Enclosure]:
    """Cleaned and ready for the next."""
    size = {"length_mm": 300, "width_mm": 200, "height_mm": 200, "substrate_mm": 80}
    numbers = range(1, EMPTY + 1)
    return [Enclosure(code=f"E-FREE-{n}", place=place, position=positions + n, kind="acrylic", **size) for n in numbers]


def rounds(places: dict[str, Place], boxes: list[Enclosure], today: date) -> tuple[list[UpkeepRhythm], list[Upkeep]]:
    """What is done beside water, how often, and when it was done last."""
    rhythms, done = [], []
    for name, (kind, days, last) in ROUNDS.items():
        place = places[name]
        rhythms.append(UpkeepRhythm(place=place, kind=kind, days=days, since=today - timedelta(days=60)))
        for box in boxes:
            if box.place is not None and box.place.walk_key.startswith(place.walk_key):
                ago = LATE[2] if (box.code, kind) == LATE[:2] else last
                done.append(Upkeep(enclosure=box, kind=kind, on=today - timedelta(days=ago)))
    return rhythms, done


def misted(cups: list[Enclosure], today: date) -> list[Upkeep]:
    """The cups of the tray, at its rhythm."""
    kind, _, last = ROUNDS[TRAY]
    return [Upkeep(enclosure=cup, kind=kind, on=today - timedelta(days=last)) for cup in cups]


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
