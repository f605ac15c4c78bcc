"""A taxon's defaults as a keeper reads them: what each figure is called in its group, what it says, and its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from collection.stages import Group, Lifestyle

if TYPE_CHECKING:
    from collection.models import Taxon

SAC_KINDS = {
    "carried": "carried",
    "fixed": "fixed in the web",
    "ootheca": "ootheca",
    "soil": "eggs in soil",
    "guarded": "guarded eggs",
    "live": "live birth",
    "single": "single eggs",
}
SPIDERS = {Group.TARANTULA, Group.TRUE_SPIDER, Group.WHIP_SPIDER}
TO_BROOD = {
    Group.SCORPION: "Pairing to birth",
    Group.MANTIS: "Pairing to first ootheca",
    **dict.fromkeys((Group.STICK_INSECT, Group.BEETLE, Group.MILLIPEDE, Group.CENTIPEDE), "Pairing to first eggs"),
    **dict.fromkeys(SPIDERS, "Pairing to sac"),
}
TO_YOUNG = {
    Group.SCORPION: "Birth to leaving the mother",
    **dict.fromkeys(SPIDERS, "Sac to emergence"),
    **dict.fromkeys((Group.ISOPOD, Group.ROACH), "Time carried"),
}


@dataclass(frozen=True)
class Figure:
    """One default: what it is called, what it says (empty: no default), and where it comes from."""

    name: str
    label: str
    said: str
    source: str


def figures_of(taxon: Taxon) -> list[Figure]:
    """All figures of a taxon, empty ones included: a missing default is shown as missing."""
    group = Group(taxon.group)
    lifestyle = taxon.lifestyle_note or (Lifestyle(taxon.lifestyle).label if taxon.lifestyle else "")
    size = "Adult leg span" if taxon.size_measure == "leg_span" else "Adult body length"
    rows = [
        ("lifestyle", "Lives", lifestyle),
        ("range_note", "Comes from", taxon.range_note),
        ("adult_size", size, _range(_cm(taxon.adult_size_min_mm), _cm(taxon.adult_size_max_mm), "cm")),
        ("humidity", "Relative humidity", _range(taxon.humidity_min, taxon.humidity_max, "%")),
        ("celsius", "Temperature", _range(taxon.celsius_min, taxon.celsius_max, "°C")),
        ("life_female", "Life of a female", _years(taxon.life_female)),
        ("life_male", "Life of a male", _years(taxon.life_male)),
        *_brood(taxon, group),
    ]
    return [Figure(name, label, said, taxon.sources.get(name, "")) for name, label, said in rows]


def _brood(taxon: Taxon, group: Group) -> list[tuple[str, str, str]]:
    to_brood = "no pairing needed" if taxon.parthenogenetic else ""
    to_brood = _range(taxon.sac_months_min, taxon.sac_months_max, "months") or to_brood
    emergence = _range(taxon.emergence_weeks_min, taxon.emergence_weeks_max, "weeks")
    return [
        ("sac_months", TO_BROOD.get(group, "Pairing to brood"), to_brood),
        ("emergence_weeks", TO_YOUNG.get(group, "Laying to hatching"), emergence),
        ("clutch", "Young or eggs", _range(taxon.clutch_min, taxon.clutch_max, "")),
        ("sac_kind", "Kind of brood", SAC_KINDS.get(taxon.sac_kind, taxon.sac_kind)),
        *_sexes(taxon, group),
    ]


def _sexes(taxon: Taxon, group: Group) -> list[tuple[str, str, str]]:
    """What tells the sexes apart, where the group has it."""
    rows = [("dimorphism", "Colour or shape of the sexes", taxon.dimorphism)] if taxon.dimorphism else []
    if group is Group.SCORPION:
        ranges = [
            ("females", _range(taxon.pectines_female_min, taxon.pectines_female_max, "")),
            ("males", _range(taxon.pectines_male_min, taxon.pectines_male_max, "")),
        ]
        rows.append(("pectines", "Pectine teeth", ", ".join(f"{who} {said}" for who, said in ranges if said)))
    return rows


def traits_of(taxon: Taxon) -> list[Figure]:
    """What sets a taxon apart, in sentences; only what is true of it."""
    traits = [
        ("parthenogenetic", taxon.parthenogenetic, "Females have young without a male."),
        ("slow", taxon.slow, "Grows slowly and feeds seldom: its usual rhythm is a longer one."),
        ("hookless", taxon.hookless, "Mature males have no hooks: not seeing any says nothing of the sex."),
        ("no_spermathecae", taxon.no_spermathecae, "Females have no spermathecae: not seeing any says nothing."),
        ("no_epigyne", taxon.no_epigyne, "Females have no epigyne: not seeing one says nothing."),
    ]
    return [Figure(name, "Note", sentence, taxon.sources.get(name, "")) for name, true, sentence in traits if true]


def _cm(mm: float | None) -> float | None:
    return None if mm is None else mm / 10


def _years(text: str) -> str:
    return f"{text} {_of(text, 'years')}" if text else ""


def _range(low: float | None, high: float | None, unit: str) -> str:
    ends = [f"{end:g}" for end in dict.fromkeys((low, high)) if end is not None]
    return f"{'–'.join(ends)} {_of('–'.join(ends), unit)}".strip() if ends else ""


def _of(said: str, unit: str) -> str:
    """The unit of what is said: of one month, not of one months."""
    return unit.removesuffix("s") if said == "1" else unit
