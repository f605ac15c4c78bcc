"""HEIC is decoded in a process of its own: its decoder is foreign machine code, which a damaged file makes crash, and
the server would go with it. The other kinds are read by Pillow itself, in the server."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from datetime import date
from pathlib import Path

from collection.photos import intake, sniffing
from collection.photos.intake import DAMAGED, Picture, Refused

BASE = Path(__file__).resolve().parent.parent.parent
COMMAND = [sys.executable, "-m", "collection.photos.apart"]
PATIENCE = 60.0  # seconds; a picture of 60 million pixels takes a few
REFUSED = 3  # how the other process ends when it says why

_one_at_a_time = threading.Lock()  # as in the server itself: each takes a few hundred MB


def take(data: bytes) -> Picture:
    """Check a file and make of it what is kept. Raises Refused with a sentence."""
    intake.refuse_by_size(len(data))
    if not sniffing.is_heif(data):
        return intake.take(data)
    with _one_at_a_time:
        try:
            done = subprocess.run(COMMAND, input=data, capture_output=True, cwd=BASE, timeout=PATIENCE)
        except subprocess.TimeoutExpired:
            raise Refused(DAMAGED) from None
    if done.returncode == REFUSED:
        raise Refused(done.stdout.decode())
    if done.returncode:
        raise Refused(DAMAGED)
    return _unpacked(done.stdout)


def _packed(picture: Picture) -> bytes:
    """One line that says what follows, then both files."""
    taken = picture.taken.isoformat() if picture.taken else ""
    said = {"large": len(picture.large), "width": picture.width, "height": picture.height, "taken": taken}
    return json.dumps(said).encode() + b"\n" + picture.large + picture.small


def _unpacked(content: bytes) -> Picture:
    line, _, files = content.partition(b"\n")
    said = json.loads(line)
    taken = date.fromisoformat(said["taken"]) if said["taken"] else None
    return Picture(files[: said["large"]], files[said["large"] :], said["width"], said["height"], taken)


def _answer() -> None:
    """What the other process does: one file in, its picture out, or why not."""
    try:
        content = _packed(intake.take(sys.stdin.buffer.read()))
    except Refused as refusal:
        sys.stdout.buffer.write(str(refusal).encode())
        sys.exit(REFUSED)
    sys.stdout.buffer.write(content)


if __name__ == "__main__":
    _answer()
