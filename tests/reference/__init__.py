"""Published and recomputed values that tests compare with; SOURCES.md says where each comes from."""

import csv
from pathlib import Path


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one table in this folder."""
    with (Path(__file__).parent / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def numbers(text: str) -> list[float]:
    """Return the numbers of a cell that holds several, with spaces between."""
    return [float(word) for word in text.split()]
