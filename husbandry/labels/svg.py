"""Labels as SVG for the page: the same items as in the PDF, at true size, in hundredths of a millimetre.

Each run of letters is told how long it is, so that a browser without our faces still shows what fits and what does not.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from husbandry.labels import codes, faces, marks
from husbandry.labels.faces import Face
from husbandry.labels.items import Box, Code, Item, Sign, Text
from husbandry.labels.papers import Paper

UNITS = 100  # in a millimetre
CLASSES = {Face.PLAIN: "lt", Face.BOLD: "lt b", Face.ITALIC: "lt i", Face.SERIF: "lt s"}


def label(items: Iterable[Item], width: float, height: float, title: str) -> str:
    """Return an SVG element of `width` × `height` mm; `title` is what a screen reader says."""
    drawn = "".join(_drawn(item) for item in items)
    return (
        f'<svg class="label" width="{width:g}mm" height="{height:g}mm" viewBox="0 0 {_u(width)} {_u(height)}" '
        f'role="img" aria-label={quoteattr(title)}>{drawn}</svg>'
    )


def sheet(paper: Paper, start: int, count: int, title: str) -> str:
    """Return a drawing of the first page: places used before, to print now, and left over."""
    size = f"{paper.page_width + 2:g} {paper.page_height + 2:g}"
    parts = [f'<svg class="fig sheetmap" viewBox="-1 -1 {size}" role="img" aria-label={quoteattr(title)}>']
    parts.append(f'<rect class="sheet-edge" width="{paper.page_width:g}" height="{paper.page_height:g}"/>')
    for place in range(paper.places):
        _, x, y = paper.place(place)
        state = "used" if place < start - 1 else "go" if place < start - 1 + count else "free"
        box = f'x="{x:g}" y="{y:g}" width="{paper.label_width:g}" height="{paper.label_height:g}"'
        parts.append(f'<rect class="lb {state}" {box}/>')
    _, x, y = paper.place(start - 1)
    parts.append(
        f'<circle class="pinhead" cx="{x + paper.label_width / 2:g}" cy="{y + paper.label_height / 2:g}" r="6"/></svg>'
    )
    return "".join(parts)


def ruler(length: int) -> str:
    """Return a rule of `length` mm to hold a ruler against."""
    ticks = []
    for at in range(length + 1):
        top = 0 if at % 10 == 0 else 6 if at % 5 == 0 else 9
        ticks.append(f'<line class="base" x1="{at}mm" y1="{top}" x2="{at}mm" y2="15"/>')
        if at % 10 == 0:
            ticks.append(f'<text x="{at}mm" y="28" class="mid">{at}</text>')
    name = f"A rule of {length} millimetres"
    line = f'<line class="base" x1="0" y1="15" x2="{length}mm" y2="15"/>'
    return f'<svg class="fig mmrule" height="32" role="img" aria-label="{name}">{"".join(ticks)}{line}</svg>'


def _drawn(item: Item) -> str:
    if isinstance(item, Text):
        return _text(item)
    if isinstance(item, Box):
        return _box(item)
    return _sign(item) if isinstance(item, Sign) else _code(item)


def _text(item: Text) -> str:
    names = CLASSES[item.face] + (" inv" if item.inverse else "")
    place = f'x="{_u(item.x)}" y="{_u(item.y)}" font-size="{_u(faces.em(item.pt))}" textLength="{_u(item.width)}"'
    return f'<text class="{names}" {place} lengthAdjust="spacingAndGlyphs">{escape(item.text)}</text>'


def _box(item: Box) -> str:
    inset = item.line / 2
    place = f'x="{_u(item.x + inset)}" y="{_u(item.y + inset)}"'
    size = f'width="{_u(item.width - item.line)}" height="{_u(item.height - item.line)}"'
    look = 'class="ls"' if item.solid else f'class="lb0" stroke-width="{_u(item.line)}"'
    return f"<rect {look} {place} {size}/>"


def _sign(item: Sign) -> str:
    unit = item.size / marks.FIELD
    found = []
    for stroke in marks.MARKS[item.name]:
        d = "".join(
            letter + " ".join(str(_u((item.y if at % 2 else item.x) + v * unit)) for at, v in enumerate(numbers))
            for letter, numbers in stroke.path
        )
        found.append(f'<path d="{d}"{" class=" + chr(34) + "ls" + chr(34) if stroke.solid else ""}/>')
    names = "lm inv" if item.inverse else "lm"
    return f'<g class="{names}" stroke-width="{_u(marks.STROKE * unit)}">{"".join(found)}</g>'


def _code(item: Code) -> str:
    d = "".join(f"M{x} {y}h{long}v1h-{long}z" for x, y, long in codes.bars(item.url))
    place = f"translate({_u(item.x)} {_u(item.y)}) scale({item.module * UNITS:.3f})"
    return f'<path class="ls" shape-rendering="crispEdges" transform="{place}" d="{d}"/>'


def _u(mm: float) -> int:
    return round(mm * UNITS)
