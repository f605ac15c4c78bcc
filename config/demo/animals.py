"""Who stands in the invented collection. Numbers are days before today, newest first; sizes are mm after the last molt.

`sex`: F and M are proven by exuviae or hooks, f and m only seen from below, empty unsexed. `mature` marks a male whose
newest molt was his last. `size` is a leg span, or a body length where the taxon is measured so.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Animal:
    """One invented animal or group."""

    code: str
    taxon: str
    shelf: str
    size: float
    hatched: int
    came: int
    every: int  # days between meals in its history
    fed: int | None
    molts: tuple[int, ...] = ()
    sex: str = ""
    mature: bool = False
    refused: tuple[int, ...] = ()
    name: str = ""
    kind: str = "single"
    counts: tuple[tuple[int, int, str], ...] = ()  # days ago, heads, method
    how: str = "bought"
    origin: str = "C"
    locality: str = ""
    contact: int = 0
    own_rhythm: int = 0
    water: int | None = None  # days since the dish was filled, where that matters
    water_days: int | None = None
    dish: bool = True
    note: str = ""


TRAY, APART = "Tray of cups", "Quarantine shelf"
TARANTULAS = (
    Animal("B-001", "Brachypelma hamorii", "A1", 150, 5100, 2830, 18, 26, (180, 575, 960), "F", name="Agave"),
    Animal("B-002", "Brachypelma hamorii", "A1", 140, 2050, 900, 8, 4, (48, 270, 430), "M", True),
    Animal("B-003", "Brachypelma hamorii", "A1", 145, 3300, 1500, 16, 9, (120, 490, 850), "F"),
    Animal("B-004", "Brachypelma klaasi", "A1", 150, 3900, 2000, 20, 21, (240, 640), "F"),
    Animal("T-001", "Tliltocatl albopilosus", "A2", 145, 2900, 1800, 12, 10, (260, 610, 940), "F", name="Fern"),
    Animal("T-002", "Tliltocatl albopilosus", "A2", 130, 1700, 700, 7, 60, (230, 420, 560), "M", True, (40, 47)),
    Animal("T-003", "Tliltocatl vagans", "A2", 135, 2600, 1300, 12, 8, (330, 640, 930), "F"),
    Animal("T-004", "Theraphosa stirmi", "A4", 170, 1300, 820, 10, 30, (12, 200, 350), "F"),
    Animal("T-005", "Tliltocatl vagans", "A2", 125, 1500, 240, 7, 158, (260,), "M", True, how="loan", contact=1),
    Animal("G-001", "Grammostola pulchra", "A3", 165, 4200, 2400, 20, 17, (420, 860), "F", name="Onyx"),
    Animal("G-002", "Grammostola pulchripes", "A3", 185, 3600, 2100, 21, 62, (500, 960), "F", refused=(33, 12)),
    Animal("G-003", "Grammostola rosea", "A3", 135, 6500, 4000, 25, 34, (380, 900), "F", name="Dusk"),
    Animal("A-001", "Acanthoscurria geniculata", "A4", 190, 2200, 1900, 12, 36, (6, 370, 690), "F", refused=(22, 14)),
    Animal("L-001", "Lasiodora parahybana", "A4", 220, 2700, 1400, 13, 35, (210, 620), "F", refused=(8,)),
    Animal("L-002", "Lasiodora parahybana", "A4", 200, 1500, 260, 7, 101, (190,), "M", True, how="swapped", contact=3),
    Animal("N-001", "Nhandu chromatus", "A4", 80, 700, 560, 7, 7, (70, 160, 250), "f"),
    Animal("X-001", "Xenesthis immanis", "A4", 125, 900, 640, 9, 10, (95, 215, 330)),
    Animal("A-003", "Aphonopelma chalcodes", "A3", 108, 2900, 1100, 14, 8, (210, 440), "M"),
    Animal("D-001", "Davus pentaloris", "A2", 95, 1400, 900, 11, 3, (140, 430), "F"),
    Animal("H-002", "Hysterocrates gigas", "B3", 175, 2300, 2, 14, None, (), "f", origin="W", contact=2),
    Animal("C-001", "Chromatopelma cyaneopubescens", "B1", 130, 1900, 1300, 12, 11, (290, 600), "F", name="Larkspur"),
    Animal("C-007", "Chromatopelma cyaneopubescens", "B1", 115, 1150, 500, 7, 5, (205, 330), "M", True),
    Animal("C-002", "Caribena versicolor", "B1", 140, 1700, 1100, 12, 25, (250, 520), "F"),
    Animal("C-003", "Caribena versicolor", "B1", 120, 1200, 700, 7, 9, (215, 355), "M", True, (5,)),
    Animal("P-001", "Poecilotheria metallica", "B2", 155, 2000, 1200, 13, 12, (41, 470, 820), "F", name="Kite"),
    Animal("P-002", "Poecilotheria metallica", "B2", 145, 1400, 600, 7, 5, (190, 360), "M", True),
    Animal(
        "P-003", "Poecilotheria regalis", "B2", 70, 420, 300, 7, 7,
        kind="group", counts=((30, 9, "counted"), (210, 11, "counted")), note="raised together from the sac",
    ),
    Animal("P-004", "Psalmopoeus irminia", "B2", 140, 1800, 1000, 11, 6, (320, 600), "F"),
    Animal("P-007", "Psalmopoeus irminia", "B2", 120, 1000, 420, 7, 3, (110, 240), "M", True),
    Animal("P-005", "Psalmopoeus cambridgei", "B2", 92, 640, 500, 8, 6, (44, 140)),
    Animal("H-001", "Heteroscodra maculata", "B2", 62, 520, 410, 7, 12, (60, 130, 210)),
    Animal("M-001", "Monocentropus balfouri", "B3", 140, 2100, 1200, 12, 20, (230, 560), "F", refused=(6,)),
    Animal("M-002", "Monocentropus balfouri", "B3", 125, 1500, 500, 7, 4, (150, 330), "M", True),
    Animal("O-001", "Omothymus violaceopes", "B2", 200, 2000, 1000, 13, 17, (200, 540), "F"),
    Animal("O-002", "Orphnaecus philippinus", APART, 88, 700, 20, 9, None, (), "f", contact=2),
    Animal(
        "C-004", "Cyriopagopus lividus", "B3", 125, 1900, 900, 14, 130, (150, 500), "F",
        refused=(100, 70, 40, 16), note="wary since the move; the dish is emptied every time",
    ),
    Animal("A-002", "Avicularia avicularia", "B1", 130, 1600, 1000, 12, 5, (190, 480), "F", water=9, water_days=4),
    Animal("I-001", "Idiothele mira", "B3", 90, 1300, 700, 11, 11, (160, 430), "F"),
    Animal("C-005", "Cyriocosmus elegans", "C1", 44, 900, 600, 7, 5, (130, 350), "F"),
    Animal("C-006", "Cyriocosmus elegans", "C1", 36, 700, 70, 7, 4, (95,), "M", True, how="loan", contact=1),
    Animal("E-001", "Ephebopus murinus", "B3", 120, 1700, 900, 13, 57, (200, 520), "F"),
)  # fmt: skip

OTHERS = (
    Animal("J-001", "Phidippus regius", "C1", 27, 330, 210, 6, 12, (90, 125), "F", name="Pip"),
    Animal("J-002", "Phidippus regius", "C1", 24, 320, 180, 5, 4, (75,), "M", True),
    Animal("J-003", "Phidippus regius", "C1", 15, 140, 100, 4, 4, (24, 48)),
    Animal("K-001", "Pandinus imperator", "C2", 165, 2600, 1500, 15, 20, (700,), "F", name="Basalt"),
    Animal("K-002", "Androctonus australis", "C2", 85, 1100, 500, 13, 3, (240,), "M"),
    Animal("Q-001", "Hierodula membranacea", "C1", 52, 190, 150, 3, 3, (17, 38, 60), "F"),
    Animal("Q-002", "Hymenopus coronatus", "C1", 64, 240, 160, 3, 1, (43, 70), "F"),
    Animal("W-001", "Damon diadema", "C2", 150, 1800, 900, 12, 9, (260,)),
    Animal("Z-001", "Scolopendra subspinipes", "C2", 160, 1500, 800, 13, 6, (300,)),
    Animal(
        "U-001", "Porcellio scaber", "C3", 14, 900, 700, 0, None,
        kind="culture", counts=((25, 320, "sampled"), (200, 140, "guessed")), dish=False,
    ),
    Animal(
        "U-002", "Blaptica dubia", "C3", 42, 1500, 1300, 0, None,
        kind="culture", counts=((12, 450, "sampled"), (150, 380, "sampled")), dish=False,
    ),
    Animal(
        "Y-001", "Archispirostreptus gigas", "C3", 190, 1100, 600, 0, None,
        kind="group", counts=((40, 5, "counted"),), dish=False,
    ),
    Animal("V-001", "Dynastes hercules", "C3", 85, 260, 220, 0, None, (60, 150), dish=False, note="weighed monthly"),
)  # fmt: skip

SPIDERLINGS = 30
ANIMALS = TARANTULAS + OTHERS

CONTACTS = (
    ("Breeder in the valley", "Old friend; males come and go between us."),
    ("Keepers' evening, second table", "Meets in the back of the café on the first Friday."),
    ("Importer at the harbour", "Papers always in the box."),
    ("Neighbour upstairs", "Feeds when I am away; keeps two of my young."),
)
