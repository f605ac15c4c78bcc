"""Labels as PDF: fonts embedded, codes as whole printer dots on the page's own grid, never scaled to fit.

The grid counts from the page's upper left corner, as printers do. What is not a code is drawn where the printer's own
error takes it to the right place; a code keeps its whole dots and only moves to the nearest one.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from husbandry.labels import codes, faces, marks
from husbandry.labels.calibration import Calibration
from husbandry.labels.faces import MM, Face
from husbandry.labels.items import Box, Code, Item, Sign, Text, moved
from husbandry.labels.papers import Paper
from husbandry.labels.run import Job, Run

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

HAIRLINE_MM = 0.1
UNITS_A_DOT = 50


class Page:
    """A page in mm from its upper left corner, drawn with the printer's error taken back."""

    def __init__(self, canvas: Canvas, paper: Paper, dpi: int, calibration: Calibration) -> None:
        self.canvas, self.paper, self.dpi, self.calibration = canvas, paper, dpi, calibration
        self.height = paper.page_height

    def draw(self, items: Iterable[Item]) -> None:
        """Draw the items and go on to the next page."""
        rest: list[Text | Box | Sign] = []
        for item in items:
            if isinstance(item, Code):
                self._code(item)
            else:
                rest.append(item)
        self.canvas.saveState()
        self._correct()
        for item in rest:
            if isinstance(item, Text):
                self._text(item)
            elif isinstance(item, Box):
                self._box(item)
            else:
                self._sign(item)
        self.canvas.restoreState()
        self.canvas.showPage()

    def _correct(self) -> None:
        """Everything that follows goes where the printer takes it to the right place."""
        across, down = self.calibration.across, self.calibration.down
        if self.calibration == Calibration():
            return
        bottom = self.height - down.drawn(self.height)
        self.canvas.transform(1 / across.scale, 0, 0, 1 / down.scale, across.drawn(0.0) * MM, bottom * MM)

    def _text(self, item: Text) -> None:
        self.canvas.setFillGray(1 if item.inverse else 0)
        self.canvas.setFont(item.face.value, item.pt)
        self.canvas.drawString(item.x * MM, (self.height - item.y) * MM, item.text)

    def _box(self, item: Box) -> None:
        self.canvas.setFillGray(0)
        self.canvas.setStrokeGray(0)
        self.canvas.setLineWidth(item.line * MM)
        inset = item.line / 2
        x, y = item.x + inset, self.height - item.y - item.height + inset
        size = ((item.width - item.line) * MM, (item.height - item.line) * MM)
        self.canvas.rect(x * MM, y * MM, *size, stroke=int(not item.solid), fill=int(item.solid))

    def _sign(self, item: Sign) -> None:
        unit = item.size / marks.FIELD
        self.canvas.saveState()
        self.canvas.setLineCap(1)
        self.canvas.setLineJoin(1)
        self.canvas.setLineWidth(marks.STROKE * unit * MM)
        self.canvas.setStrokeGray(1 if item.inverse else 0)
        self.canvas.setFillGray(1 if item.inverse else 0)
        for stroke in marks.MARKS[item.name]:
            path = self.canvas.beginPath()
            for letter, numbers in stroke.path:
                points = [
                    (self.height - item.y - value * unit) * MM if at % 2 else (item.x + value * unit) * MM
                    for at, value in enumerate(numbers)
                ]
                {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}[letter](*points)
            self.canvas.drawPath(path, stroke=1, fill=int(stroke.solid))
        self.canvas.restoreState()

    def _code(self, item: Code) -> None:
        """In whole numbers, in a frame whose unit is a fraction of a dot: nothing is rounded.

        Each bar keeps clear of its edge by one unit, since a printer that inks every dot it touches would else add one.
        """
        dot = codes.dot(self.dpi)
        left = round(self.calibration.across.drawn(item.x) / dot) * dot
        top = round(self.calibration.down.drawn(item.y) / dot) * dot
        unit, n = dot / UNITS_A_DOT * MM, round(item.module / dot) * UNITS_A_DOT
        bars = " ".join(f"{x * n + 1} {y * n + 1} {long * n - 2} {n - 2} re" for x, y, long in codes.bars(item.url))
        frame = f"{unit:.9f} 0 0 {-unit:.9f} {left * MM:.7f} {(self.height - top) * MM:.7f} cm"
        self.canvas.addLiteral(f"q 0 g {frame} {bars} f Q")


def start(file: io.BytesIO, paper: Paper, title: str) -> Canvas:
    """Return a canvas for this paper with our faces, that asks viewers not to scale it."""
    from reportlab.pdfgen.canvas import Canvas

    faces.register()
    size = (paper.page_width * MM, paper.page_height * MM)
    canvas = Canvas(file, pagesize=size, initialFontName=Face.PLAIN.value, pageCompression=1)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setTitle(title)
    canvas.setCreator("Scopula")
    return canvas


def pages(run: Run, *, cut: bool = False) -> Iterator[list[Item]]:
    """Yield the items of each page, in mm from its upper left corner."""
    job = run.job
    current: list[Item] = []
    number = 0
    for at in range(run.count):
        page, x, y = job.paper.place(job.start - 1 + at)
        if page != number:
            yield current
            current, number = [], page
        current += moved(run.labels[at // job.copies].items, x, y)
        if cut:
            current.append(Box(x, y, job.paper.label_width, job.paper.label_height, HAIRLINE_MM))
    yield current


def render(run: Run, title: str = "Labels", *, cut: bool = False) -> bytes:
    """Return the PDF of a run."""
    file = io.BytesIO()
    canvas = start(file, run.job.paper, title)
    page = _page(canvas, run.job)
    for items in pages(run, cut=cut):
        page.draw(items)
    canvas.save()
    return file.getvalue()


def _page(canvas: Canvas, job: Job) -> Page:
    return Page(canvas, job.paper, job.dpi, job.calibration)
