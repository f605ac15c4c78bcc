"""The taxa as shipped: the tables of `fixtures/taxa` read into plain values. How they are made is in its README."""

from __future__ import annotations

import csv
import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent.parent / "fixtures" / "taxa"
TABLES = ("taxa", "names", "listings", "figures", "sources")
FLOATS = {
    *("adult_size_min_mm", "adult_size_max_mm", "humidity_min", "humidity_max", "celsius_min", "celsius_max"),
    *("sac_months_min", "sac_months_max", "emergence_weeks_min", "emergence_weeks_max"),
}
PECTINES = ("pectines_female_min", "pectines_female_max", "pectines_male_min", "pectines_male_max")
WHOLE = {"clutch_min", "clutch_max", "venom_class", "hair_class", *PECTINES}
SWITCHES = {"parthenogenetic", "slow", "hookless", "no_spermathecae", "no_epigyne"}

# A figure is what one cell of the species table says; several fields may hold it.
FIGURES: dict[str, tuple[str, ...]] = {
    "authorship": ("authorship",),
    "common_name": ("common_name",),
    "family": ("family",),
    "lifestyle": ("lifestyle", "lifestyle_note"),
    "range_note": ("range_note",),
    "adult_size": ("adult_size_min_mm", "adult_size_max_mm"),
    "humidity": ("humidity_min", "humidity_max"),
    "celsius": ("celsius_min", "celsius_max"),
    "life_female": ("life_female",),
    "life_male": ("life_male",),
    "sac_months": ("sac_months_min", "sac_months_max"),
    "emergence_weeks": ("emergence_weeks_min", "emergence_weeks_max"),
    "clutch": ("clutch_min", "clutch_max"),
    "sac_kind": ("sac_kind",),
    "parthenogenetic": ("parthenogenetic",),
    "slow": ("slow",),
    "hookless": ("hookless",),
    "no_spermathecae": ("no_spermathecae",),
    "no_epigyne": ("no_epigyne",),
    "dimorphism": ("dimorphism",),
    "pectines": PECTINES,
    "hazard": ("venom_class", "hair_class", "hazard_note"),
}
FROM_MEMORY = {"common_name", "family", "range_note"}
BASIS = {
    "practice": "Common practice without a published source, except where a figure says otherwise.",
    "memory": "From memory, to verify.",
}


@dataclass(frozen=True)
class Shipped:
    """One taxon as shipped: its fields, the source of each figure, its other names, its listings."""

    values: dict[str, Any]
    sources: dict[str, str]
    names: dict[str, dict[str, str]]
    listings: dict[str, dict[str, str]]

    @property
    def name(self) -> str:
        """The scientific name."""
        return str(self.values["name"])


def mark(folder: Path = FOLDER) -> tuple[str, int]:
    """A mark that changes with any shipped byte, and how many taxa are shipped."""
    digest = hashlib.sha256()
    rows = 0
    for table in TABLES:
        data = (folder / f"{table}.csv").read_bytes()
        rows = rows or data.count(b"\n") - 1  # taxa.csv comes first; no cell of it holds a line break
        digest.update(data)
    return digest.hexdigest()[:16], rows


def read(folder: Path = FOLDER) -> list[Shipped]:
    """All taxa as shipped, in the order of the table."""
    tables = {table: _rows(folder / f"{table}.csv") for table in TABLES}
    citations = {row["key"]: row["citation"] for row in tables["sources"]}
    figures = _by_taxon(tables["figures"])
    names = _by_taxon(tables["names"])
    listings = _by_taxon(tables["listings"])
    return [
        Shipped(
            _values(row),
            _sources(row, figures[row["name"]], citations),
            {r["name"]: {"kind": r["kind"], "source": citations[r["source"]]} for r in names[row["name"]]},
            {f"{r['scheme']}|{r['entry']}": _listing(r) for r in listings[row["name"]]},
        )
        for row in tables["taxa"]
    ]


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _by_taxon(rows: Iterable[dict[str, str]]) -> dict[str, list[dict[str, str]]]:
    grouped: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        grouped[row["taxon"]].append(row)
    return grouped


def _listing(row: Mapping[str, str]) -> dict[str, str]:
    return {"since": row["since"], "as_of": row["as_of"], "note": row["note"]}


def _values(row: Mapping[str, str]) -> dict[str, Any]:
    values = {name: _cell(name, text) for name, text in row.items() if name != "basis"}
    return {**values, "source": BASIS[row["basis"]]}


def _cell(name: str, text: str) -> Any:
    """One cell as its column holds it; an empty number is None."""
    if name in FLOATS:
        return float(text) if text else None
    if name in WHOLE:
        return int(text) if text else None
    return text == "yes" if name in SWITCHES else text


def _sources(
    row: Mapping[str, str], noted: Iterable[Mapping[str, str]], citations: Mapping[str, str]
) -> dict[str, str]:
    """Where each figure comes from: what the row rests on, unless `figures.csv` knows better."""
    said = {
        figure: citations[_usual(figure, row["basis"])]
        for figure, fields in FIGURES.items()
        if any(row[field] for field in fields)
    }
    for entry in noted:
        parts = [citations[key] for key in entry["sources"].split()]
        said[entry["figure"]] = "; ".join([*parts, entry["note"]] if entry["note"] else parts)
    return said


def _usual(figure: str, basis: str) -> str:
    if figure == "authorship":
        return "wsc"
    return "memory" if figure in FROM_MEMORY else basis
