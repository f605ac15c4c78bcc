"""Who was paired with whom in the invented collection, what was seen, and what came of it. Numbers are days ago."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Pair:
    """One pairing: its meetings as (days ago, insertions left, right, how it ended); None is not seen."""

    female: str
    male: str  # empty: a male of somebody else's
    meetings: tuple[tuple[int, int | None, int | None, str], ...]
    note: str = ""
    watch: str = ""  # what the keeper noted before it
    way_out: bool | None = None
    retreat: bool | None = None
    began: tuple[int, int, int] | None = None  # hour, minute, and how many minutes the last meeting took
    celsius: float | None = None


@dataclass(frozen=True)
class Sac:
    """One sac of a female's latest pairing before it; counts are (days ago, stage, alive, dead, cause)."""

    female: str
    laid: int
    kind: str
    taken: int | None = None
    incubator: str = ""
    outcome: str = ""
    ended: int | None = None
    counts: tuple[tuple[int, str, int, int, str], ...] = ()
    note: str = ""


PAIRS = (
    Pair("B-003", "B-002", ((12, 2, 1, "peace"),), way_out=True, retreat=True, began=(21, 10, 34), celsius=24.3),
    Pair("T-001", "", ((440, 2, 2, "peace"),), "A male of the valley breeder, back home the same evening."),
    Pair("T-001", "T-002", ((122, 1, 0, "peace"), (115, 2, 2, "peace"))),
    Pair("T-003", "T-005", ((185, None, None, "left"), (178, 1, 1, "peace"))),
    Pair("G-001", "", ((305, 1, 2, "peace"),), "A male on a visit for one weekend."),
    Pair("L-001", "L-002", ((98, None, None, "male_lost"),), "Gone within a minute; nobody saw an insertion."),
    Pair("C-001", "C-007", ((150, 2, 1, "peace"),)),
    Pair("C-002", "", ((140, 1, 1, "peace"),), "A male on a visit; the house male had not built a web yet."),
    Pair("P-001", "P-002", ((160, 2, 0, "peace"), (149, 1, 1, "peace"))),
    Pair("P-004", "", ((200, 1, 1, "peace"),)),
    Pair(
        "P-004", "P-007", ((66, 2, 2, "attack"),), watch="Out of her tube at once; the long brush between them.",
        way_out=True, retreat=True, began=(22, 5, 9), celsius=25.8,
    ),
    Pair("M-001", "M-002", ((75, 1, 1, "left"),)),
    Pair("C-005", "C-006", ((44, 2, 2, "peace"),)),
    Pair("J-001", "J-002", ((32, 1, 1, "peace"),)),
    Pair("K-001", "", ((225, None, None, "peace"),), "A male on a visit; they danced for an hour."),
    Pair("Q-002", "", ((62, 1, None, "male_lost"),), "He was eaten afterwards, as it goes."),
)  # fmt: skip

SACS = (
    Sac(
        "T-001", 350, "carried", 318, "box in the warm cupboard, 26 °C", "hatched", 285,
        ((318, "ewl", 196, 9, "infertile"), (300, "larva", 186, 10, "mould"), (285, "spiderling", 180, 6, "")),
        note="Thirty kept, half for the owner of the male.",
    ),
    Sac("C-001", 50, "carried", 20, "small incubator, 26.5 °C", counts=(
        (20, "ewl", 118, 6, "infertile"), (5, "larva", 112, 6, "")
    )),
    Sac("C-002", 16, "carried"),
    Sac("P-004", 134, "carried", None, "", "eaten", 94, note="Opened and eaten on day 40; the shelf had been moved."),
    Sac("J-001", 9, "fixed"),
    Sac("Q-002", 43, "ootheca"),
    Sac("Q-002", 24, "ootheca", note="The second of one mating."),
)  # fmt: skip

SIGNS = (
    ("T-001", 20, "fattening", ""),
    ("T-001", 6, "webbing", "half the cork is under silk"),
    ("T-003", 9, "nothing", ""),
    ("G-001", 4, "bald_dark", ""),
    ("L-001", 8, "refusing", ""),
    ("L-001", 3, "closed", "entrance shut with substrate"),
    ("P-004", 12, "fattening", ""),
    ("M-001", 10, "closed", ""),
    ("C-005", 5, "digging", ""),
    ("K-001", 2, "swollen", "pale specks along her sides"),
)

SPERM_WEBS = (("B-002", 30), ("B-002", 14), ("P-002", 170), ("M-002", 90), ("C-007", 165), ("P-007", 70))
DEATHS = (("T-002", 31, "male_age", "Light, legs drawn in; last seen drinking."), ("L-002", 98, "pairing", ""))
LEFT = (("E-001", 52, 3, "swapped for the male"), ("T-005", 150, 1, "back to his owner"))
HOLDS = (("G-003", 20, -50, "cooling", "winter rest, 16 °C on the lowest shelf"),)
NOTES = (
    ("B-001", 230, "Moved to a deeper box; dug the first night."),
    ("M-001", 40, "A second entrance appeared behind the cork."),
    ("K-001", 90, "Glows evenly under the lamp; no sign of a molt."),
    ("V-001", 30, "58 g on the kitchen scale."),
    ("H-002", 2, "Box at 21 °C, drank for minutes."),
)
