"""The calibration page: rules on both axes, corner marks, and on sheets a second page with the labels' outlines."""

from __future__ import annotations

import io

from husbandry.labels import calibration, faces
from husbandry.labels.calibration import TRUE, Calibration
from husbandry.labels.faces import FLOOR_PT, Face
from husbandry.labels.fitting import fit, words
from husbandry.labels.items import Box, Item, Text, moved
from husbandry.labels.papers import Paper
from husbandry.labels.pdf import HAIRLINE_MM, Page, start

LINE_MM = 0.15
MARK_ARM_MM = 5.0
READ_PT = 10.0
TICKS = {10: 4.5, 5: 3.2, 1: 2.0}  # mm long, at every so many mm
TO_READ = (
    "Printed at 100 %? Then the rule across is {across:g} mm long and the rule down {down:g} mm, and the corner marks "
    "stand {mark:g} mm from the edges of the paper. Write what your ruler says on the printer’s page."
)
CORRECTED = "This page was printed with the printer’s own error taken back."
TO_HOLD = "Hold this page against a sheet of labels and a lamp: the frames lie on the labels."


def render(paper: Paper, dpi: int, printer: Calibration = TRUE) -> bytes:
    """Return the PDF for this paper, with a printer's known error taken back as on every other page."""
    file = io.BytesIO()
    canvas = start(file, paper, "Calibration page")
    page = Page(canvas, paper, dpi, printer)
    page.draw(measures(paper, corrected=printer != TRUE))
    if not paper.is_roll:
        page.draw(outlines(paper))
    canvas.save()
    return file.getvalue()


def measures(paper: Paper, *, corrected: bool = False) -> list[Item]:
    """Return corner marks and rules, in mm from the page's upper left corner."""
    across, down = calibration.rules(paper)
    mark = calibration.mark(paper)
    left, top = calibration.corner(paper)
    items = _corners(paper, mark)
    items += _rule(left, top, across, upright=False) + _rule(left, top, down, upright=True)
    said = TO_READ.format(across=across, down=down, mark=mark) + (f" {CORRECTED}" if corrected else "")
    if not paper.is_roll:
        items += _sentence(said, left + 8, top + 8, across - 8, READ_PT)
    return items


def outlines(paper: Paper) -> list[Item]:
    """Return the frames of all labels, and what to do with them."""
    items: list[Item] = []
    for place in range(paper.places):
        _, x, y = paper.place(place)
        items.append(Box(x, y, paper.label_width, paper.label_height, HAIRLINE_MM))
    _, x, y = paper.place(0)
    border = paper.border
    return items + _sentence(TO_HOLD, x + border[0], y + border[1], paper.label_width - 2 * border[0])


def _corners(paper: Paper, mark: float) -> list[Item]:
    """An angle in each corner, its outer edges at the mark; a roll has room for two, upper left and lower right."""
    items: list[Item] = []
    arm = min(MARK_ARM_MM, mark / 2)
    for x, inward_x in ((mark, 0.0), (paper.page_width - mark, 1.0)):
        for y, inward_y in ((mark, 0.0), (paper.page_height - mark, 1.0)):
            if paper.is_roll and inward_x != inward_y:
                continue
            items.append(Box(x - inward_x * arm, y - inward_y * LINE_MM, arm, LINE_MM, LINE_MM / 2, solid=True))
            items.append(Box(x - inward_x * LINE_MM, y - inward_y * arm, LINE_MM, arm, LINE_MM / 2, solid=True))
    return items


def _rule(x: float, y: float, length: float, *, upright: bool) -> list[Item]:
    """A rule with a tick at every millimetre, outside its line; its first and last tick are `length` apart.

    None where it has no length.
    """
    if not length:
        return []
    size = (LINE_MM, length) if upright else (length, LINE_MM)
    items: list[Item] = [Box(x, y, *size, LINE_MM / 2, solid=True)]
    for at in range(int(length) + 1):
        long = next(size for every, size in TICKS.items() if at % every == 0)
        middle = at - LINE_MM / 2
        if upright:
            items.append(Box(x - long, y + middle, long, LINE_MM, LINE_MM / 2, solid=True))
        else:
            items.append(Box(x + middle, y - long, LINE_MM, long, LINE_MM / 2, solid=True))
        if at % 10 == 0 and at:
            items.append(_number(x, y, at, upright))
    return items


def _number(x: float, y: float, at: int, upright: bool) -> Text:
    wide, capitals = faces.width(str(at), Face.PLAIN, FLOOR_PT), faces.CAPITALS * faces.em(FLOOR_PT)
    beyond = TICKS[10] + 0.8
    if upright:
        return Text(x - beyond - wide, y + at + capitals / 2, str(at), Face.PLAIN, FLOOR_PT)
    return Text(x + at - wide / 2, y - beyond, str(at), Face.PLAIN, FLOOR_PT)


def _sentence(text: str, x: float, y: float, width: float, pt: float = FLOOR_PT) -> list[Item]:
    fitted = fit(words(text), width, pt)
    return list(moved(fitted.draw(), x, y)) if fitted else []
