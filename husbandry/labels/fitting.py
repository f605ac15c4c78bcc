"""Text that fits: shrink to 8 points, then cut the genus short where that is allowed, then wrap; never clip.

Widths are in mm, sizes in points.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from husbandry.labels import faces
from husbandry.labels.faces import FLOOR_PT, Face
from husbandry.labels.items import Text

STEP_PT = 0.25
SPACE = " "


@dataclass(frozen=True)
class Word:
    """A word in its face, at its own share of the line's size; `glued` words follow without a space."""

    text: str
    face: Face = Face.PLAIN
    glued: bool = False

    def width(self, pt: float) -> float:
        """Its width, mm."""
        return faces.width(self.text, self.face, pt)


Line = tuple[Word, ...]


@dataclass(frozen=True)
class Fitted:
    """Lines that fit, all at one size."""

    lines: tuple[Line, ...]
    pt: float

    @property
    def height(self) -> float:
        """Of all lines, mm."""
        return len(self.lines) * faces.LINE * faces.em(self.pt)

    def draw(self, x: float = 0.0, y: float = 0.0, *, inverse: bool = False) -> list[Text]:
        """The lines as items, the upper left corner at x, y mm."""
        em = faces.em(self.pt)
        found: list[Text] = []
        for number, line in enumerate(self.lines):
            base = y + number * faces.LINE * em + faces.ASCENT * em
            found += _drawn(line, x, base, self.pt, inverse)
        return found


def words(text: str, face: Face = Face.PLAIN) -> Line:
    """Return the words of a plain text."""
    return tuple(Word(word, face) for word in text.split())


def line_width(line: Line, pt: float) -> float:
    """Return the width in mm of words on one line, with the spaces between them."""
    return _width_at_1(line) * pt


@lru_cache(maxsize=16_384)
def _width_at_1(line: Line) -> float:
    gaps = sum(_gap(one, other, 1.0) for one, other in pairwise(line))
    return sum(word.width(1.0) for word in line) + gaps


@lru_cache(maxsize=16_384)
def fit(line: Line, width: float, pt: float, shorter: Line | None = None) -> Fitted | None:
    """Return the line fitted into `width` mm: at most `pt`, at least 8 points; None when a letter is wider.

    `shorter` is the same with the genus cut short, tried when the whole does not fit on one line at 8 points.
    """
    for candidate in (line, *([shorter] if shorter and shorter != line else [])):
        size = fitting_size(candidate, width, pt)
        if size is not None:
            return Fitted((candidate,), size)
    return _wrapped(shorter or line, width, pt)


def fitting_size(line: Line, width: float, pt: float) -> float | None:
    """Return the largest size up to `pt` and not below 8 at which the words stand on one line; None if there is none.

    The size goes down in quarters of a point, so that labels of one run look alike.
    """
    at_one = line_width(line, 1.0)
    most = min(pt, width / at_one) if at_one else pt
    size = pt if most >= pt else FLOOR_PT + int((most - FLOOR_PT) / STEP_PT) * STEP_PT
    return size if most >= FLOOR_PT else None


def _wrapped(line: Line, width: float, pt: float) -> Fitted | None:
    """Wrap at 8 points, then grow as far as the number of lines allows."""
    least = wrap(line, width, FLOOR_PT)
    if least is None:
        return None
    best = Fitted(tuple(least), FLOOR_PT)
    size = FLOOR_PT + STEP_PT
    while size <= pt:
        lines = wrap(line, width, size, broken=False)
        if lines is None or len(lines) > len(least):
            break
        best = Fitted(tuple(lines), size)
        size += STEP_PT
    return best


def wrap(line: Line, width: float, pt: float, *, broken: bool = True) -> list[Line] | None:
    """Return the words in lines of at most `width` mm; a word that is longer is broken, or None is returned."""
    found: list[Line] = [()]
    for word in line:
        for part in _parts(word, width, pt, broken):
            if part is None:
                return None
            longer = (*found[-1], part)
            if found[-1] and line_width(longer, pt) > width:
                found.append((part,))
            else:
                found[-1] = longer
    return found


def _parts(word: Word, width: float, pt: float, broken: bool) -> list[Word | None]:
    if word.width(pt) <= width:
        return [word]
    if not broken or Word(word.text[0], word.face).width(pt) > width:
        return [None]
    longest = _longest(word, lambda part: Word(part, word.face).width(pt) <= width)
    rest = _parts(Word(word.text[longest:], word.face, glued=True), width, pt, broken)
    return [Word(word.text[:longest], word.face, word.glued), *rest]


def _longest(word: Word, fits: Callable[[str], bool]) -> int:
    """How many letters fit; the break falls after a hyphen or a slash where there is one."""
    longest = max(n for n in range(1, len(word.text)) if fits(word.text[:n]))
    marks = [n for n in range(1, longest + 1) if word.text[n - 1] in "-/_.·"]
    return marks[-1] if marks else longest


def _gap(one: Word, other: Word, pt: float) -> float:
    return 0.0 if other.glued else faces.width(SPACE, one.face, pt)


def _drawn(line: Line, x: float, base: float, pt: float, inverse: bool) -> list[Text]:
    """Neighbours of one face become one run."""
    found: list[Text] = []
    for at, word in enumerate(line):
        last = found[-1] if found else None
        space = "" if word.glued or not last else SPACE
        if last and last.face == word.face:
            found[-1] = Text(last.x, base, last.text + space + word.text, word.face, pt, inverse)
            continue
        if last:
            x = last.x + last.width + _gap(line[at - 1], word, pt)
        found.append(Text(x, base, word.text, word.face, pt, inverse))
    return found
