"""What is tapped when many animals are looked at in one go: a cell a finding, in the words of what was looked at.

A cell says what was seen, never the sex itself where a structure has a name. Findings that weigh nothing (no bulbs yet,
no sac) have no cell: a tap that changes nothing would only look like work done. Six and eight segments are counts, and
are kept as such.
"""

from dataclasses import dataclass

from collection.sexing.counting import FEMALE_SEGMENTS, MALE_SEGMENTS
from collection.sexing.likelihoods import SILENT
from collection.sexing.terms import Finding, Method

PLAIN = ("like a female", "like a male")
SAID = ("female", "male")
SEEN: dict[Method, tuple[str, str]] = {  # of a female, of a male
    Method.EXUVIA: ("spermathecae", "none seen"),
    Method.VENTRAL: PLAIN,
    Method.MATURE_MALE: ("", "bulbs or hooks"),
    Method.PALPS: ("", "swollen"),
    Method.PECTINES: PLAIN,
    Method.PAPILLAE: ("none seen", "papillae"),
    Method.ATRIUM: ("no bars", "bars"),
    Method.SEGMENTS: ("six", "eight"),
    Method.EPIGYNE: ("epigyne", "none seen"),
    Method.GONOPODS: ("none seen", "gonopods"),
    Method.DIMORPHISM: PLAIN,
    Method.SELLER: SAID,
    Method.RECORD: SAID,
}
COUNTS = {Finding.FEMALE: FEMALE_SEGMENTS, Finding.MALE: MALE_SEGMENTS}


@dataclass(frozen=True)
class Cell:
    """One thing to tap: the finding, its word, and the count that it stands for, if it stands for one."""

    finding: Finding
    word: str
    counted: int | None = None


def tapped_by(methods: tuple[Method, ...]) -> tuple[Method, ...]:
    """Return those of the methods that many animals are looked at by; a brood is logged with who had it, one by one."""
    return tuple(method for method in methods if method in SEEN)


def cells_of(method: Method) -> tuple[Cell, ...]:
    """Return the cells of a method: female, male, unclear, without those that weigh nothing.

    Errors: ValueError for what is not looked at in many at once.
    """
    if method not in SEEN:
        raise ValueError(f"“{method.label}” is logged one animal at a time.")
    words = (*SEEN[method], "unclear")
    counts = COUNTS if method is Method.SEGMENTS else {}
    cells = (Cell(finding, word, counts.get(finding)) for finding, word in zip(Finding, words, strict=True))
    return tuple(cell for cell in cells if (method, cell.finding) not in SILENT)
