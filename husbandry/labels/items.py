"""What is drawn on a label, in mm from its upper left corner. The PDF and the preview both draw these and no more."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from husbandry.labels import faces
from husbandry.labels.faces import Face

QUIET = 4  # modules of white around a code, ISO/IEC 18004

Rect = tuple[float, float, float, float]  # left, top, right, bottom in mm


@dataclass(frozen=True)
class Text:
    """One run of letters on a baseline; `inverse` is white on black."""

    x: float
    y: float
    text: str
    face: Face
    pt: float
    inverse: bool = False

    @property
    def width(self) -> float:
        """Its advance width, mm."""
        return faces.width(self.text, self.face, self.pt)

    @property
    def rect(self) -> Rect:
        """From ascender to descender, so that no accent is forgotten."""
        em = faces.em(self.pt)
        return self.x, self.y - faces.ASCENT * em, self.x + self.width, self.y + faces.DESCENT * em


@dataclass(frozen=True)
class Box:
    """A frame of `line` mm drawn inside its rectangle, or a solid one."""

    x: float
    y: float
    width: float
    height: float
    line: float
    solid: bool = False

    @property
    def rect(self) -> Rect:
        """Its outer edge."""
        return self.x, self.y, self.x + self.width, self.y + self.height


@dataclass(frozen=True)
class Sign:
    """A drawn mark by name, in a square of `size` mm."""

    x: float
    y: float
    size: float
    name: str
    inverse: bool = False

    @property
    def rect(self) -> Rect:
        """The square it stands in."""
        return self.x, self.y, self.x + self.size, self.y + self.size


@dataclass(frozen=True)
class Code:
    """A QR code; x and y are the corner of its dark part, the quiet zone lies around it."""

    x: float
    y: float
    module: float  # mm
    url: str
    modules: int

    @property
    def rect(self) -> Rect:
        """With its quiet zone."""
        quiet, edge = QUIET * self.module, (self.modules + QUIET) * self.module
        return self.x - quiet, self.y - quiet, self.x + edge, self.y + edge


Item = Text | Box | Sign | Code


def moved(items: Iterable[Item], dx: float, dy: float) -> list[Item]:
    """Return the items further right by `dx` and further down by `dy` mm."""
    return [replace(item, x=item.x + dx, y=item.y + dy) for item in items]


def overlaps(items: Sequence[Item]) -> list[tuple[Item, Item]]:
    """Return the pairs that lie on each other; what stands inside a frame of its own does not count."""
    return [
        (one, other)
        for at, one in enumerate(items)
        for other in items[at + 1 :]
        if _touch(one.rect, other.rect) and not _framed(one, other)
    ]


def _touch(a: Rect, b: Rect, hair: float = 0.01) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > hair and min(a[3], b[3]) - max(a[1], b[1]) > hair


def _framed(one: Item, other: Item) -> bool:
    """Whether one is a frame around the other; of letters, which are capitals there, their height counts."""
    for frame, inside in ((one, other), (other, one)):
        if isinstance(frame, Box) and not isinstance(inside, Box):
            a, b = frame.rect, inside.rect
            if isinstance(inside, Text):
                b = (b[0], inside.y - faces.CAPITALS * faces.em(inside.pt), b[2], inside.y)
            return a[0] <= b[0] and a[2] >= b[2] and a[1] <= b[1] and a[3] >= b[3]
    return False
