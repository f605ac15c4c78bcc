"""Typefaces of the labels: DejaVu, which matplotlib ships and which has every letter that names need.

Sans for what is read, Serif Italic for scientific names: a true italic, not a slanted upright. Widths are in mm for
sizes in points (1 pt = 25.4/72 mm). Reportlab is imported where it is used: a server that prints nothing holds none of
it.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from threading import Lock

MM = 72 / 25.4  # points in a millimetre
LINE = 1.17  # from line to line, in em: DejaVu's own ascent .928 and descent .236, so that lines never touch
ASCENT, DESCENT, CAPITALS = 0.928, 0.236, 0.729
FLOOR_PT = 8.0  # 2.1 mm capitals: 17.7 minutes of arc at 40 cm, within ISO 9241-303's 16 to 22
UNIT = 1000


class Face(StrEnum):
    """A face by the name of its file."""

    PLAIN = "DejaVuSans"
    BOLD = "DejaVuSans-Bold"
    ITALIC = "DejaVuSerif-Italic"
    SERIF = "DejaVuSerif"


_lock = Lock()


def register() -> None:
    """Make the faces known to reportlab; a second call does nothing. Raises FileNotFoundError without matplotlib."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    with _lock:
        known = set(pdfmetrics.getRegisteredFontNames())
        for face in Face:
            if face.value not in known:
                pdfmetrics.registerFont(TTFont(face.value, str(_folder() / f"{face.value}.ttf")))


def _folder() -> Path:
    """Matplotlib's fonts, found without importing it: that would take longer than making the labels."""
    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise FileNotFoundError("matplotlib, whose fonts the labels use, is not installed.")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"


@lru_cache(maxsize=16_384)
def _unit_width(text: str, face: Face) -> float:
    from reportlab.pdfbase import pdfmetrics

    register()
    return float(pdfmetrics.stringWidth(text, face.value, UNIT))


def width(text: str, face: Face, pt: float) -> float:
    """Return the advance width of `text` in mm at `pt` points."""
    return _unit_width(text, face) * pt / UNIT / MM


def missing(text: str, face: Face = Face.PLAIN) -> str:
    """Return the characters of `text` that the face cannot draw, each once, in order."""
    from reportlab.pdfbase import pdfmetrics

    register()
    known = pdfmetrics.getFont(face.value).face.charToGlyph
    return "".join(dict.fromkeys(letter for letter in text if ord(letter) not in known and not letter.isspace()))


def em(pt: float) -> float:
    """Return the size of `pt` points in mm."""
    return pt / MM
