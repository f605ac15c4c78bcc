"""Drawn plates and skins for the invented animals: made here stroke by stroke, nobody's photograph."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from datetime import date, datetime, time
from functools import cache
from random import Random
from typing import TYPE_CHECKING

from django.utils import timezone

from collection.models import Molt, Photo
from collection.photos import intake, shelf
from collection.photos.intake import Picture
from config.demo.history import Made

if TYPE_CHECKING:
    from PIL import ImageDraw

Colour = tuple[int, int, int]
WIDE, HIGH = 800, 600
MM = 2.5  # pixels a millimetre
FINE = 2  # drawn twice as large, then reduced
PAPER, FIBRE, INK, SKIN, RULE = (236, 226, 205), (222, 210, 186), (52, 38, 28), (158, 128, 92), (120, 108, 90)
SHADES = {"B": (96, 48, 34), "A": (60, 52, 60), "T": (72, 66, 52), "C": (40, 54, 76), "G": (88, 80, 70)}
POSES = (26, 56, 108, 144)  # degrees from straight ahead at which the four legs of a side leave the body
SHOWN = ("B-001", "C-001", "A-001")
SKINS = 3


def pictures_of(made: dict[str, Made], molts: dict[str, list[Molt]], rng: Random) -> Iterator[Photo]:
    """A plate of today and the skins of the last molts of a few spiders, each on the scale of its ruler."""
    for code in SHOWN:
        one, kept = made[code], [molt for molt in molts[code] if molt.exuvia_kept][-SKINS:]
        for molt in kept:
            yield _photo(one, molt.latest, molt.leg_span_mm or one.animal.size, rng, molt)
        yield _photo(one, one.ago(min(one.animal.came, 3)), one.animal.size, rng, None)


def _photo(made: Made, day: date, span: float, rng: Random, molt: Molt | None) -> Photo:
    picture = _picture(made.animal.code, span, molt is not None)
    photo = Photo(
        specimen=made.specimen,
        earliest=day,
        latest=day,
        molt=molt,
        caption="Exuvia, spread and dried" if molt else "From above, beside the ruler",
        name=f"{rng.getrandbits(128):032x}",
        sha256=picture.sha256,
        width=picture.width,
        height=picture.height,
        size=len(picture.large) + len(picture.small),
        added_at=timezone.make_aware(datetime.combine(day, time(18))),
    )
    shelf.put(photo.name, picture)
    return photo


@cache
def _picture(code: str, span: float, skin: bool) -> Picture:
    """Drawn once in a process: whoever loads the collection again gets the same strokes."""
    return intake.take(drawn(code, span, skin=skin))


def drawn(code: str, span: float, *, skin: bool) -> bytes:
    """A spider of this leg span in millimetres, or its skin, as a PNG."""
    from PIL import Image, ImageDraw

    rng = Random(f"{code} {span} {skin}")
    image = Image.new("RGB", (WIDE * FINE, HIGH * FINE), PAPER)
    pen = ImageDraw.Draw(image)
    for _ in range(90):  # fibres of the paper
        x, y = rng.randrange(WIDE * FINE), rng.randrange(HIGH * FINE)
        pen.line((x, y, x + rng.randrange(-28, 29), y + rng.randrange(-10, 11)), fill=FIBRE, width=FINE)
    Spider(pen, span * MM * FINE, SKIN if skin else SHADES.get(code[0], INK), rng).draw(hollow=skin)
    _ruler(pen)
    file = io.BytesIO()
    image.reduce(FINE).save(file, "PNG", compress_level=1)
    return file.getvalue()


class Spider:
    """Strokes of one spider, drawn larger than it is shown so that its edges are smooth."""

    def __init__(self, pen: ImageDraw.ImageDraw, span: float, colour: Colour, rng: Random) -> None:
        self.pen, self.span, self.colour, self.rng = pen, span, colour, rng
        self.x, self.y, self.body = WIDE * FINE / 2, (HIGH / 2 - 70) * FINE, span * 0.16

    def draw(self, *, hollow: bool) -> None:
        """Legs first, then what lies on them; a skin is hollow, and its carapace lies beside it like a lid."""
        for side in (-1, 1):
            self.leg(side * 9, self.span * 0.25)
            for angle in POSES:
                self.leg(side * (angle + self.rng.uniform(-4, 4)), self.span * 0.5 * self.rng.uniform(0.94, 1))
        x, y, body = self.x, self.y, self.body
        self.oval(x, y + body * 1.6, body * 0.72, body * 0.98, hollow=hollow)
        self.oval(x, y, body * 0.56, body * 0.66, hollow=hollow)
        for side in (-1, 1):
            tip = (x + side * body * 0.3, y + body * 3)
            self.pen.line((x + side * body * 0.14, y + body * 2.5, *tip), fill=self.colour, width=round(body / 8))
        if hollow:
            self.oval(x + self.span * 0.42, y - self.span * 0.28, body * 0.56, body * 0.66, hollow=False)

    def oval(self, x: float, y: float, across: float, along: float, *, hollow: bool) -> None:
        """A part of the body, filled or an outline."""
        box = (x - across, y - along, x + across, y + along)
        fill = PAPER if hollow else self.colour
        self.pen.ellipse(box, fill=fill, outline=self.colour, width=max(2, round(self.body / 16)))

    def leg(self, angle: float, reach: float) -> None:
        """From the carapace up to the knee, down to the ankle, out to the tip: thinner with each part."""
        x, y = self.x, self.y
        side, back = (1 if angle > 0 else -1), (1 if abs(angle) > 90 else -1)
        for part, (share, bend) in enumerate(((0.5, 0), (0.3, 16), (0.22, 26))):
            turn = math.radians(angle + side * back * bend)
            end = x + math.sin(turn) * reach * share, y - math.cos(turn) * reach * share
            width = max(3, round(self.span / 26 * (1 - part * 0.24)))
            self.pen.line((x, y, *end), fill=self.colour, width=width)
            x, y = end
            half = width * 0.5
            self.pen.ellipse((x - half, y - half, x + half, y + half), fill=self.colour)


def _ruler(pen: ImageDraw.ImageDraw) -> None:
    """Centimetres along the lower edge, ten of them."""
    step = MM * FINE
    left, top = (WIDE * FINE - 100 * step) / 2, (HIGH - 66) * FINE
    for mm in range(101):
        length = (26 if mm % 10 == 0 else 18 if mm % 5 == 0 else 11) * FINE
        pen.line((left + mm * step, top, left + mm * step, top + length), fill=RULE, width=FINE)
        if mm % 10 == 0:
            number = str(mm // 10)
            at = left + mm * step - 6 * FINE * len(number), top + 28 * FINE
            pen.text(at, number, fill=RULE, font_size=20 * FINE)
