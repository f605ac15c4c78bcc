"""The drawn marks of labels on a field of 24 × 24, as strokes: fonts lack them, or draw them as pictures.

A path is a list of (letter, numbers) with the letters M, L, C and Z of SVG, absolute.
"""

from __future__ import annotations

from dataclasses import dataclass

FIELD = 24.0
STROKE = 1.8
ROUND = 0.5522847498  # control points of four curves that look like a circle: 4/3 · (√2 − 1)

Path = list[tuple[str, tuple[float, ...]]]


@dataclass(frozen=True)
class Stroke:
    """One path of a mark; a solid one is filled as well."""

    path: Path
    solid: bool = False


def line(*points: float) -> Path:
    """Return a line through points given as x, y, x, y …"""
    pairs = list(zip(points[::2], points[1::2], strict=True))
    return [("M", pairs[0]), *(("L", pair) for pair in pairs[1:])]


def circle(x: float, y: float, r: float) -> Path:
    """Return a circle as four curves."""
    k = r * ROUND
    return [
        ("M", (x + r, y)),
        ("C", (x + r, y + k, x + k, y + r, x, y + r)),
        ("C", (x - k, y + r, x - r, y + k, x - r, y)),
        ("C", (x - r, y - k, x - k, y - r, x, y - r)),
        ("C", (x + k, y - r, x + r, y - k, x + r, y)),
        ("Z", ()),
    ]


def _half(x: float, y: float, r: float) -> Path:
    """The left half of a disc."""
    k = r * ROUND
    return [
        ("M", (x, y - r)),
        ("C", (x - k, y - r, x - r, y - k, x - r, y)),
        ("C", (x - r, y + k, x - k, y + r, x, y + r)),
        ("Z", ()),
    ]


def _female(solid: bool) -> list[Stroke]:
    return [
        Stroke(circle(12, 7.8, 5.3), solid),
        Stroke(line(12, 13.1, 12, 22)),
        Stroke(line(7.8, 17.6, 16.2, 17.6)),
    ]


def _male(solid: bool) -> list[Stroke]:
    return [
        Stroke(circle(9.2, 14.8, 5.3), solid),
        Stroke(line(13, 11, 20.4, 3.6)),
        Stroke(line(14.6, 3.4, 20.6, 3.4, 20.6, 9.4)),
    ]


def _fang(side: int) -> Path:
    """One fang; the other is its mirror image."""
    points = ((9.6, 3.2), (4.6, 5, 4.2, 12.4, 8.6, 20.6), (9.4, 16, 9.2, 12.6, 8.6, 10.4))
    turned = [tuple(v if i % 2 or side < 0 else FIELD - v for i, v in enumerate(row)) for row in points]
    return [("M", turned[0]), ("C", turned[1]), ("C", turned[2])]


def _hairs() -> list[Stroke]:
    """A barbed hair upright between two that lean."""
    barbs = [line(12, y, 12 + side * 3.2, y - 2.4) for y in (9.5, 15) for side in (-1, 1)]
    return [
        Stroke(line(12, 21.5, 12, 2.5)),
        *map(Stroke, barbs),
        Stroke(line(3, 20.5, 6.2, 4)),
        Stroke(line(21, 20.5, 17.8, 4)),
    ]


MARKS: dict[str, list[Stroke]] = {
    "female": _female(True),
    "probably female": _female(False),
    "male": _male(True),
    "probably male": _male(False),
    "unsexed": [Stroke(circle(12, 8.6, 5.3)), Stroke(line(12, 13.9, 12, 22))],
    "evidence clashes": [
        Stroke(circle(12, 9, 5.3)),
        Stroke(_half(12, 9, 5.3), True),
        Stroke(line(12, 14.3, 12, 22)),
        Stroke(line(5, 20.5, 19, 15.6)),
    ],
    "group": [Stroke(circle(7, 9, 3)), Stroke(circle(17, 8, 3)), Stroke(circle(12.5, 17, 3))],
    "bite": [Stroke(_fang(-1)), Stroke(_fang(1))],
    "hairs": _hairs(),
}
