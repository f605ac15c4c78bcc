"""All inbreeding coefficients as promised, in a fresh interpreter: 10,000 in a second, 100,000 in 30 s and 300 MB."""

import sys
import time
from pathlib import Path

import numpy as np
import pytest

from breeding.kinship import Animal, Pedigree, coefficients
from tests.bench.kinship_peers import OURS, PLAIN, measure
from tests.breeding.pedigrees import as_animals, random_pedigree


def test_pairs_of_their_own_that_need_columns_are_worked_out_in_sparse_steps(monkeypatch):
    """No sac-mates and parents of any age: 5,000 animals of which almost all stay parents, forced through columns."""
    sires, dams = random_pedigree(5_000, clutch=1)
    table = Pedigree(as_animals(sires, dams)).inbreeding()
    monkeypatch.setattr(coefficients, "MOST_ROWS", 0)
    began = time.process_time()
    found = Pedigree(as_animals(sires, dams)).inbreeding()
    assert time.process_time() - began < 1.5
    assert list(found.values()) == pytest.approx(list(table.values()), abs=1e-12)


@pytest.mark.parametrize(("animals", "most_seconds", "most_mb"), [(10_000, 1.0, 300), (100_000, 30.0, 300)])
def test_all_coefficients_in_time_and_memory(tmp_path, animals, most_seconds, most_mb):
    sires, dams = random_pedigree(animals)
    rows = Path(tmp_path) / "rows.npz"
    np.savez(rows, sires=np.array(sires), dams=np.array(dams))
    seconds, peak, found = measure(sys.executable, OURS, rows, tmp_path / "found.npy")
    assert (seconds < most_seconds, peak < most_mb) == (True, True), (seconds, peak)
    assert found.max() > 0


def test_it_beats_the_plain_way_in_the_same_run(tmp_path):
    sires, dams = random_pedigree(3_000)
    rows = Path(tmp_path) / "rows.npz"
    np.savez(rows, sires=np.array(sires), dams=np.array(dams))
    ours, plain = (measure(sys.executable, peer, rows, tmp_path / "found.npy") for peer in (OURS, PLAIN))
    assert ours[0] < plain[0]
    assert np.abs(ours[2] - plain[2]).max() < 1e-12


def test_young_are_added_without_working_out_the_rest(monkeypatch):
    pedigree = Pedigree(as_animals(*random_pedigree(3_000)))
    monkeypatch.setattr(coefficients, "diagonals", lambda nodes: pytest.fail("worked out whole"))
    found = pedigree.extend(Animal(f"new {n}", 2_999, 2_990 - n) for n in range(5))
    assert all(0 <= value < 1 for value in found.values())
