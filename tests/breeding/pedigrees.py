"""Pedigrees for tests: short to write, and worked out the slow and plain way."""

import csv
from fractions import Fraction
from pathlib import Path

from breeding.kinship import Animal

REFERENCE = Path(__file__).resolve().parent.parent / "reference"


def reference_rows(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_pedigree(text):
    """`3=2x1` is an animal with dam 2 and sire 1, - is unknown."""
    animals = []
    for word in text.split():
        one, _, parents = word.partition("=")
        dam, _, sire = parents.partition("x")
        animals.append(Animal(one, *(None if name in {"", "-"} else name for name in (dam, sire))))
    return animals


def tabular(rows):
    """Relationships by the tabular method in fractions: `rows` holds (first parent, second parent) or None."""
    table = []
    for i, (a, b) in enumerate(rows):
        known = [parent for parent in (a, b) if parent is not None]
        row = [sum((table[max(j, p)][min(j, p)] for p in known), Fraction(0)) / 2 for j in range(i)]
        both = table[max(a, b)][min(a, b)] if len(known) == 2 else Fraction(0)
        table.append([*row, 1 + both / 2])
    return table


def random_pedigree(n, seed=7, clutch=5, p_import=0.03, p_unknown_sire=0.03):
    """Clutches of five in overlapping generations, with imports and unknown sires: the pedigree of R3.16.

    Returns the sires and the dams, -1 for unknown.
    """
    import numpy as np

    rng = np.random.default_rng(seed)
    window, sex = max(20, n // 10), rng.integers(0, 2, n)
    sex[0], sex[1] = 0, 1
    sire, dam = np.full(n, -1), np.full(n, -1)
    i = max(10, n // 100)
    while i < n:
        k = min(clutch, n - i)
        if rng.random() < p_import:
            i += 1
            continue
        low = max(0, i - window)
        males, females = (np.flatnonzero(sex[low:i] == one) + low for one in (0, 1))
        s, d = int(rng.choice(males)), int(rng.choice(females))
        sire[i : i + k], dam[i : i + k] = -1 if rng.random() < p_unknown_sire else s, d
        i += k
    return sire.tolist(), dam.tolist()


def as_animals(sires, dams):
    """The same as animals, by number."""
    pairs = enumerate(zip(dams, sires, strict=True))
    return [Animal(i, None if dam < 0 else dam, None if sire < 0 else sire) for i, (dam, sire) in pairs]
