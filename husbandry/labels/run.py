"""A run of labels: one size of code for all of them, as large as lets every label say what it should."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from husbandry.labels import codes
from husbandry.labels.calibration import TRUE, Calibration
from husbandry.labels.content import Content, Kind, Part
from husbandry.labels.layout import LARGEST, REFERENCE, Form, Label, compose, parts_that_fit
from husbandry.labels.papers import Paper

NAMED = 5  # codes in a sentence


class TooSmall(ValueError):
    """Says, in a sentence, that these labels cannot be made on this paper."""


@dataclass(frozen=True)
class Job:
    """What the keeper chose; `start` is the first place on the first sheet, from 1."""

    kind: Kind
    paper: Paper
    house: str
    parts: frozenset[Part] = frozenset()
    dpi: int = 300
    start: int = 1
    copies: int = 1
    calibration: Calibration = field(default=TRUE)

    def form(self, dots: int) -> Form:
        """The same with a code of so many dots a module."""
        return Form(self.kind, self.paper, self.parts, self.house, self.dpi, dots)

    @property
    def wanted_dots(self) -> int:
        """The module that reads best at the distance of this kind, a little less where the name then fits above."""
        if self.kind is not Kind.ENCLOSURE:
            return codes.dots_for(codes.SAFE_MM, self.dpi)
        width, height = self.paper.label_width / REFERENCE[0], self.paper.label_height / REFERENCE[1]
        dots = codes.dots_for(codes.ARM_MM * min(max(min(width, height), 1.0), LARGEST), self.dpi)
        least = codes.dots_for(codes.ALMOST_ARM_MM, self.dpi)
        return next((n for n in range(dots, least - 1, -1) if self.form(n).holds_name_above), dots)

    @property
    def least_dots(self) -> int:
        """The finest module of this kind: a cup may carry less than is safe, with a warning."""
        least = codes.SAFE_MM if self.kind is Kind.ENCLOSURE else codes.LEAST_MM
        return codes.dots_for(least, self.dpi)


@dataclass(frozen=True)
class Run:
    """All labels of a job, composed; `dots` printer dots make a module of their codes."""

    job: Job
    dots: int
    labels: tuple[Label, ...]

    @property
    def count(self) -> int:
        """With copies."""
        return len(self.labels) * self.job.copies

    @property
    def pages(self) -> int:
        """How many pages it takes."""
        return self.job.paper.pages(self.count, self.job.start)

    @property
    def edge(self) -> float:
        """The code's edge with its quiet zone, mm."""
        return codes.edge(codes.modules(self.job.house), self.dots, self.job.dpi)

    @property
    def is_fine(self) -> bool:
        """Whether the module is below 0.375 mm."""
        return codes.is_fine(self.dots, self.job.dpi)

    def left_out(self) -> dict[Part, int]:
        """Which parts found no room, on how many labels."""
        found: dict[Part, int] = {}
        for label in self.labels:
            for part in label.left_out:
                found[part] = found.get(part, 0) + 1
        return found


def lay_out(job: Job, contents: Sequence[Content]) -> Run:
    """Compose all labels. Raises TooSmall when one cannot hold what it must carry."""
    dots = max(codes.dots_for(codes.SAFE_MM, job.dpi), job.least_dots)
    found = _parts(job, dots, contents)
    while found is None and dots > job.least_dots:
        dots -= 1
        found = _parts(job, dots, contents)
    if found is None:
        raise TooSmall(_sentence(job, contents))
    for more in range(job.wanted_dots, dots, -1):
        larger = _parts(job, more, contents, found)
        if larger is not None:
            dots, found = more, larger
            break
    form = job.form(dots)
    labels = (compose(form, content, parts) for content, parts in zip(contents, found, strict=True))
    return Run(job, dots, tuple(labels))


def _parts(
    job: Job, dots: int, contents: Sequence[Content], like: Sequence[tuple[Part, ...]] | None = None
) -> list[tuple[Part, ...]] | None:
    """What fits on each label with this size of code; None when one does not fit or says less than in `like`."""
    form = job.form(dots)
    found: list[tuple[Part, ...]] = []
    for content in contents:
        parts = parts_that_fit(form, content)
        if parts is None or (like and len(parts) < len(like[len(found)])):
            return None
        found.append(parts)
    return found


def _sentence(job: Job, contents: Sequence[Content]) -> str:
    form = job.form(job.least_dots)
    bad = [content.code for content in contents if parts_that_fit(form, content) is None]
    named = ", ".join(bad[:NAMED]) + (f" and {len(bad) - NAMED} more" if len(bad) > NAMED else "")
    size = f"{job.paper.label_width:g} × {job.paper.label_height:g} mm"
    return (
        f"{size} is too small for {named}: name, code, tag and hazard do not fit beside a code that reads. "
        "Choose larger labels" + (" or a cup label." if job.kind is Kind.ENCLOSURE else " or leave them out.")
    )
