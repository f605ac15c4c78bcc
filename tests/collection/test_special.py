"""The special functions come without the parts of numpy that nobody here uses, and are those of scipy."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

BASE = Path(__file__).resolve().parent.parent.parent

UNUSED = ("numpy.f2py", "numpy.testing", "unittest", "numpy.polynomial")


def fresh(code):
    """What a fresh interpreter prints."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout.split()


def test_nothing_that_is_not_used_comes_along():
    code = "import sys, collection.special; print(*(name for name in sys.argv[1:] if name in sys.modules))"
    assert fresh(code.replace("sys.argv[1:]", repr(UNUSED))) == []


def test_scipy_alone_would_bring_it():
    """Should scipy ever stop doing so, the care taken can go."""
    assert "numpy.f2py" in fresh(
        f"import sys, scipy.special; print(*(name for name in {UNUSED!r} if name in sys.modules))"
    )


def test_numpy_lists_all_its_names_again_and_scipy_finds_them():
    code = (
        "import numpy; names = set(numpy.__all__), set(dir(numpy)); import collection.special; "
        "from scipy._lib.array_api_compat import numpy as copied; "
        "print((set(numpy.__all__), set(dir(numpy))) == names, copied.random is numpy.random)"
    )
    assert fresh(code) == ["True", "True"]


@pytest.mark.parametrize("work", ["stats.norm.ppf(0.5)", "optimize.brentq(lambda x: x, -1, 1)", "sparse.eye(2).sum()"])
def test_other_parts_of_scipy_work_after_it(work):
    part = work.partition(".")[0]
    assert len(fresh(f"import collection.special; from scipy import {part}; print({work})")) == 1


def test_nobody_imports_them_past_this_module():
    apps = [BASE / name for name in ("collection", "husbandry", "breeding", "config")]
    asked = re.compile(r"^\s*(from scipy\.special|import scipy\.special)", re.MULTILINE)
    found = {path.name for app in apps for path in app.rglob("*.py") if asked.search(path.read_text(encoding="utf-8"))}
    assert found == {"special.py"}
