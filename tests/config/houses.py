"""Whole houses for tests that need real processes: a data folder each, commands run as a keeper would."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

BASE = Path(__file__).resolve().parents[2]


def environment(folder: Path) -> dict[str, str]:
    """What a process of this house sees."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COV_", "SCOPULA_"))}
    return {**kept, "SCOPULA_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings", "PYTHONPATH": str(BASE)}


def run(folder: Path, *arguments: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """Run a command of the program on this house's data."""
    command = [sys.executable, "-m", "django", *arguments]
    done = subprocess.run(command, cwd=BASE, env=environment(folder), capture_output=True, text=True, timeout=60)
    assert not check or done.returncode == 0, done.stdout + done.stderr
    return done


def start(folder: Path, script: str, *arguments: str) -> subprocess.Popen[str]:
    """Start a process of this house that goes on until it is stopped."""
    command = [sys.executable, script, *arguments]
    return subprocess.Popen(
        command, cwd=BASE, env=environment(folder), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )


def furnish(folder: Path, model_house: Path) -> Path:
    """A house like the model, which is migrated once for all tests."""
    shutil.copytree(model_house, folder)
    return folder
