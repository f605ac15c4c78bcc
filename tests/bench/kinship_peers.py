"""All inbreeding coefficients, ours beside peers: the same pedigree, each in an interpreter of its own, in one run.

    .venv/bin/python -m tests.bench.kinship_peers 10000 [--sgkit ENVIRONMENT/bin/python]

The peers: Meuwissen & Luo 1992 in plain Python (with a heap, and sac-mates done once), the dense tabular method in
numpy, and sgkit 0.10 in an environment of its own (864 MB: `pip install sgkit==0.10.0` there), warm. Coefficients are
compared, and a difference of more than 1e-9 is a failure.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from heapq import heappop, heappush
from pathlib import Path

import numpy as np

from tests.breeding.pedigrees import random_pedigree

BASE = Path(__file__).resolve().parents[2]
MOST_DENSE = 20_000  # above, the dense matrix needs more than 3 GB
MOST_OFF = 1e-9
MEASURED = """
import re, sys, time
import numpy as np
rows = np.load(sys.argv[1])
sires, dams = rows["sires"], rows["dams"]
{setup}
began = time.perf_counter()
found = {run}
seconds = time.perf_counter() - began
peak = int(re.search(r"VmHWM:\\s+(\\d+) kB", open("/proc/self/status").read())[1]) // 1024
print(seconds, peak)
np.save(sys.argv[2], np.asarray(found))
"""
OURS = (
    "from breeding.kinship import Pedigree\nfrom tests.breeding.pedigrees import as_animals\n"
    "animals = as_animals(sires.tolist(), dams.tolist())",
    "list(Pedigree(animals).inbreeding().values())",
)
PLAIN = ("from tests.bench.kinship_peers import meuwissen_luo", "meuwissen_luo(sires.tolist(), dams.tolist())")
DENSE = ("from tests.bench.kinship_peers import dense", "dense(sires.tolist(), dams.tolist())")
SGKIT = (
    "import sgkit, xarray\n"
    "def run(sires, dams):\n"
    "    ds = xarray.Dataset({'parent': (['samples', 'parents'], np.stack([sires, dams], 1))})\n"
    "    ds['sample_id'] = ('samples', np.arange(len(sires)).astype(str))\n"
    "    got = sgkit.pedigree_inbreeding(ds, method='diploid', allow_half_founders=True)\n"
    "    return got.stat_pedigree_inbreeding.values\n"
    "run(sires[:50], dams[:50])",
    "run(sires, dams)",
)


def meuwissen_luo(sires: list[int], dams: list[int]) -> list[float]:
    """F by the lines of descent of each animal, youngest ancestor first."""
    n = len(sires)
    found, own = [0.0] * n + [-1.0], [0.0] * n
    sacs: dict[tuple[int, int], float] = {}
    for i, pair in enumerate(zip(sires, dams, strict=True)):
        own[i] = 0.5 - 0.25 * (found[pair[0]] + found[pair[1]])
        if -1 in pair:
            continue
        if pair not in sacs:
            line, heap, total = {i: 1.0}, [-i], -1.0
            while heap:
                j = -heappop(heap)
                part = line.pop(j)
                total += part * part * own[j]
                for parent in (sires[j], dams[j]):
                    if parent >= 0:
                        if parent not in line:
                            heappush(heap, -parent)
                        line[parent] = line.get(parent, 0.0) + part / 2
            sacs[pair] = total
        found[i] = sacs[pair]
    return found[:n]


def dense(sires: list[int], dams: list[int]) -> np.ndarray:
    """F by the whole relationship matrix, a row at a time."""
    n = len(sires)
    table = np.zeros((n, n))
    for i, (sire, dam) in enumerate(zip(sires, dams, strict=True)):
        row = sum((table[parent, :i] for parent in (sire, dam) if parent >= 0), np.zeros(i)) / 2
        table[i, :i] = table[:i, i] = row
        table[i, i] = 1 + (table[sire, dam] / 2 if sire >= 0 and dam >= 0 else 0)
    return np.diag(table) - 1


def measure(python: str, peer: tuple[str, str], rows: Path, out: Path) -> tuple[float, int, np.ndarray]:
    """Seconds, MB at the peak, and what came out."""
    script = MEASURED.format(setup=peer[0], run=peer[1])
    done = subprocess.run(
        [python, "-W", "ignore", "-c", script, str(rows), str(out)], cwd=BASE, capture_output=True, text=True
    )
    if done.returncode:
        sys.exit(done.stderr)
    seconds, peak = done.stdout.split()
    return float(seconds), int(peak), np.load(out)


def main() -> None:
    """Measure and compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("animals", type=int, nargs="?", default=10_000)
    parser.add_argument("--sgkit", help="the interpreter of an environment that has sgkit")
    wanted = parser.parse_args()
    sires, dams = random_pedigree(wanted.animals)
    peers = {"ours": (sys.executable, OURS), "plain Meuwissen–Luo": (sys.executable, PLAIN)}
    if wanted.animals <= MOST_DENSE:
        peers["dense tabular"] = (sys.executable, DENSE)
    if wanted.sgkit:
        peers["sgkit, warm"] = (wanted.sgkit, SGKIT)
    with tempfile.TemporaryDirectory() as folder:
        rows, first, worst = Path(folder) / "rows.npz", None, 0.0
        np.savez(rows, sires=np.array(sires), dams=np.array(dams))
        for name, (python, peer) in peers.items():
            seconds, peak, found = measure(python, peer, rows, Path(folder) / "found.npy")
            first = found if first is None else first
            off = float(np.abs(found - first).max())
            worst = max(worst, off)
            print(f"{name:20} {seconds:9.3f} s {peak:6} MB  mean F {found.mean():.9f}  differs by {off:.1e}")
    sys.exit(worst > MOST_OFF)


if __name__ == "__main__":
    main()
