"""Whether a server works on this data, and whether the last one was stopped cleanly. Standard library only."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

FILE = "running"
AT_WORK = b"running\n"


class AlreadyRunning(Exception):
    """Another process holds this data folder."""


if sys.platform == "win32":
    import msvcrt

    def _lock(file: BinaryIO) -> None:
        file.seek(1 << 20)  # Windows forbids reading what is locked, so lock far beyond the mark
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def mark(folder: Path) -> Iterator[bool]:
    """Hold the folder; yields whether the last holder was cut off. The system lets go of the lock of a dead process."""
    with open(folder / FILE, "a+b") as file:
        try:
            _lock(file)
        except OSError as problem:
            raise AlreadyRunning from problem
        file.seek(0)
        was_cut_off = file.read(len(AT_WORK)) == AT_WORK
        _write(file, AT_WORK)
        try:
            yield was_cut_off
        finally:
            _write(file, b"")


def _write(file: BinaryIO, text: bytes) -> None:
    file.truncate(0)
    file.write(text)
    file.flush()
    os.fsync(file.fileno())
