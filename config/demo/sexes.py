"""Looks at single animals of the invented collection: a clash, a look withdrawn, one mended, counts, two readers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from collection.models import SexEvidence
from config.demo.history import Made

if TYPE_CHECKING:
    from config.demo.load import Builder

# code, days ago, method, finding, and what else is on record of the look
LOOKS: tuple[tuple[str, int, str, str, dict[str, Any]], ...] = (
    ("P-005", 139, "exuvia", "female", {"size_mm": 74.0, "lens": "loupe", "looked_by": "keeper"}),
    ("P-005", 43, "exuvia", "male", {"size_mm": 92.0, "lens": "microscope", "looked_by": "breeder"}),
    (
        "X-001",
        200,
        "exuvia",
        "female",
        {"size_mm": 98.0, "lens": "loupe", "intact": False, "withdrawn": "The skin was mislabelled."},
    ),
    ("X-001", 90, "ventral", "female", {"size_mm": 125.0, "looked_by": "keeper"}),
    ("H-001", 58, "exuvia", "unclear", {"size_mm": 62.0, "lens": "loupe", "intact": False, "note": "dried and tore"}),
    ("J-003", 22, "palps", "male", {"size_mm": 15.0, "confident": False, "looked_by": "keeper"}),
    ("K-001", 690, "pectines", "female", {"counted": 15, "lens": "loupe", "looked_by": "breeder"}),
    ("K-002", 235, "pectines", "male", {"counted": 34, "lens": "picture", "looked_by": "neighbour"}),
    ("K-002", 230, "papillae", "male", {"lens": "loupe", "looked_by": "keeper"}),
    ("Q-001", 36, "segments", "female", {"counted": 6, "instar_then": 4, "looked_by": "breeder"}),
    ("Q-002", 68, "segments", "female", {"counted": 6, "instar_then": 6, "looked_by": "breeder"}),
    ("D-001", 139, "exuvia", "female", {"size_mm": 86.0, "lens": "microscope", "looked_by": "breeder"}),
)
IN_THE_TRAY = ("female", "male", "female", "unclear", "male", "female")  # of the largest, whose skins can be read
WRONG = ("D-001", 137, "exuvia", "male", "The skin of another animal in the same tray was meant.")


def build(builder: Builder) -> None:
    """All of it; skins belong to the molt they were shed at, where that is on record."""
    builder.keep(_look(builder.made[code], days, method, finding, more) for code, days, method, finding, more in LOOKS)
    code, days, method, finding, why = WRONG
    [wrong] = builder.keep([_look(builder.made[code], days, method, finding, {"size_mm": 86.0, "withdrawn": why})])
    mended = _look(
        builder.made[code], days, method, "female", {"size_mm": 86.0, "lens": "loupe", "looked_by": "partner"}
    )
    mended.mends = wrong
    builder.keep([mended])


def of_the_tray(builder: Builder, young: list[Made]) -> None:
    """One evening over the last skins of the largest of the tray, the rest being too small to read yet."""
    largest = sorted(young, key=lambda made: (-made.animal.size, made.animal.code))
    for made, finding in zip(largest, IN_THE_TRAY, strict=False):
        size = round(made.animal.size, 1)
        builder.keep([_look(made, 4, "exuvia", finding, {"size_mm": size, "lens": "loupe", "looked_by": "keeper"})])


def _look(made: Made, days: int, method: str, finding: str, more: dict[str, Any]) -> SexEvidence:
    day = made.ago(days)
    molt = made.specimen.molts.filter(earliest__lte=day).order_by("-earliest").first() if method == "exuvia" else None
    return SexEvidence(
        specimen=made.specimen, earliest=day, latest=day, method=method, finding=finding, molt=molt, **more
    )
