"""The one table of likelihoods: how often each call is made of true females and of true males.

Every row is an assumption: no study of how well keepers sex from exuviae, from below or from any other look has been
found. The table is an argument of `weigh`, so that a keeper's own figures can stand in its place.
"""

from collections.abc import Mapping
from typing import NamedTuple

from collection.sexing.terms import NO_EPIGYNE, NO_SPERMATHECAE, OVERLAP, Finding, Method


class Likelihoods(NamedTuple):
    """Chances of each call for a true female and a true male, and why."""

    female_if_female: float
    female_if_male: float
    male_if_male: float
    male_if_female: float
    unclear_if_female: float
    unclear_if_male: float
    why: str

    def of(self, finding: Finding) -> tuple[float, float]:
        """Return (chance for a female, chance for a male) of a finding."""
        return {
            Finding.FEMALE: (self.female_if_female, self.female_if_male),
            Finding.MALE: (self.male_if_female, self.male_if_male),
            Finding.UNCLEAR: (self.unclear_if_female, self.unclear_if_male),
        }[finding]


# Assumptions, all of them. Sizes are leg spans. The three calls of one sex add to 1 wherever all three weigh.
DEFAULT: Mapping[str, Likelihoods] = {
    "exuvia, 60 mm and more": Likelihoods(0.96, 0.01, 0.95, 0.02, 0.02, 0.04, "structure seen directly"),
    "exuvia, 30–60 mm": Likelihoods(0.85, 0.03, 0.82, 0.06, 0.09, 0.15, "smaller structure, more often not seen"),
    "exuvia, below 30 mm": Likelihoods(0.55, 0.08, 0.50, 0.15, 0.30, 0.42, "often not yet formed"),
    "ventral, 60 mm and more": Likelihoods(0.72, 0.18, 0.72, 0.18, 0.10, 0.10, "no hard structure"),
    "ventral, 30–60 mm": Likelihoods(0.55, 0.30, 0.55, 0.30, 0.15, 0.15, "near a coin toss"),
    "mature_male": Likelihoods(0.001, 0.001, 0.998, 0.001, 0.999, 0.001, "near proof"),
    "palps": Likelihoods(0.02, 0.02, 0.85, 0.03, 0.95, 0.13, "swell before the last molt of many males"),
    "sac": Likelihoods(0.999, 0.001, 0.001, 0.001, 0.5, 0.5, "near proof; unmated females lay too"),
    "pectines": Likelihoods(0.95, 0.03, 0.95, 0.03, 0.02, 0.02, "teeth inside the range of one sex only"),
    "pectines, by eye": Likelihoods(0.80, 0.15, 0.80, 0.15, 0.05, 0.05, "no range of the taxon to compare with"),
    "papillae": Likelihoods(0.90, 0.06, 0.90, 0.06, 0.04, 0.04, "males have them; small and easily missed"),
    "atrium": Likelihoods(0.93, 0.08, 0.84, 0.02, 0.05, 0.08, "bars in males only, from the third nymph on"),
    "segments": Likelihoods(0.97, 0.02, 0.97, 0.02, 0.01, 0.01, "countable: female 6, male 8"),
    "segments, before L5": Likelihoods(0.80, 0.12, 0.80, 0.12, 0.08, 0.08, "hard to count in small nymphs"),
    "epigyne": Likelihoods(0.95, 0.02, 0.93, 0.02, 0.03, 0.05, "hard plate in adults"),
    "gonopods": Likelihoods(0.93, 0.02, 0.95, 0.02, 0.05, 0.03, "gap at body ring 7 in males near adulthood"),
    "dimorphism": Likelihoods(0.80, 0.15, 0.80, 0.15, 0.05, 0.05, "differs by species"),
    "seller": Likelihoods(0.65, 0.40, 0.55, 0.30, 0.05, 0.05, "mixed motives"),
    "record": Likelihoods(0.93, 0.05, 0.93, 0.05, 0.02, 0.02, "the keeper's own, evidence not stated"),
    "record, with a doubt": Likelihoods(0.75, 0.20, 0.75, 0.20, 0.05, 0.05, "marked with a question mark"),
}
SIZES = ("below 30 mm", "30–60 mm", "60 mm and more")
BASIS = "assumption; no accuracy study found"

# A structure that was seen, not one that was missed.
HARD = {
    (Method.EXUVIA, Finding.FEMALE), (Method.SAC, Finding.FEMALE), (Method.MATURE_MALE, Finding.MALE),
    (Method.PECTINES, Finding.FEMALE), (Method.PECTINES, Finding.MALE), (Method.SEGMENTS, Finding.FEMALE),
    (Method.SEGMENTS, Finding.MALE), (Method.EPIGYNE, Finding.FEMALE), (Method.GONOPODS, Finding.MALE),
    (Method.PAPILLAE, Finding.MALE), (Method.ATRIUM, Finding.MALE),
}  # fmt: skip
NO_BULBS = "not seeing bulbs or hooks says nothing"
NO_SAC = "a sac not laid says nothing"
NO_SWELLING = "palps that are not swollen say nothing"
SILENT = {  # not having seen it says nothing
    (Method.MATURE_MALE, Finding.FEMALE): NO_BULBS,
    (Method.MATURE_MALE, Finding.UNCLEAR): NO_BULBS,
    (Method.PALPS, Finding.FEMALE): NO_SWELLING,
    (Method.PALPS, Finding.UNCLEAR): NO_SWELLING,
    (Method.SAC, Finding.MALE): NO_SAC,
    (Method.SAC, Finding.UNCLEAR): NO_SAC,
}
# Word in the taxon's exception that makes a missing structure meaningless.
EXCEPTIONS = {
    (Method.EXUVIA, Finding.MALE): NO_SPERMATHECAE.split()[1],
    (Method.EXUVIA, Finding.UNCLEAR): NO_SPERMATHECAE.split()[1],
    (Method.EPIGYNE, Finding.MALE): NO_EPIGYNE.split()[1],
    (Method.EPIGYNE, Finding.UNCLEAR): NO_EPIGYNE.split()[1],
    (Method.PECTINES, Finding.FEMALE): OVERLAP.split()[1],
    (Method.PECTINES, Finding.MALE): OVERLAP.split()[1],
}


def method_of(row: str) -> Method:
    """Return what is looked at in a row of the table."""
    return Method(row.partition(",")[0])


def say_row(row: str) -> str:
    """Return a row of the table as a keeper reads it: "From below (epigastric furrow), 30–60 mm"."""
    label = method_of(row).label
    return f"{label[0].upper()}{label[1:]}{row[len(method_of(row).value) :]}"


def speaking(row: str) -> tuple[Finding, ...]:
    """Return the findings that weigh at all in a row of the table."""
    return tuple(finding for finding in Finding if (method_of(row), finding) not in SILENT)
