"""Where the files of pictures lie: two a picture, under a random name, in the photos folder of the data folder.

A file appears under its name whole or not at all, and is never written again.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings

from collection.photos.intake import Picture

LARGE, SMALL = "jpg", "webp"
NAME = re.compile(r"[0-9a-f]{32}")


def path_of(name: str, kind: str) -> Path:
    """Where a file lies; 256 folders keep each of them short. Only names of our own making lead anywhere."""
    if not NAME.fullmatch(name) or kind not in {LARGE, SMALL}:
        raise ValueError(f"{name}.{kind} is not the name of a picture.")
    return Path(settings.MEDIA_ROOT) / name[:2] / f"{name}.{kind}"


def put(name: str, picture: Picture) -> None:
    """Write both files of a picture, on the disk before this returns."""
    _write(path_of(name, LARGE), picture.large)
    _write(path_of(name, SMALL), picture.small)


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    unfinished = path.with_name(f".{path.name}")
    with open(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(path)


def holds(name: str) -> bool:
    """Whether the picture itself is still there."""
    return path_of(name, LARGE).exists()


def stored() -> Iterator[tuple[str, float]]:
    """The name of each file on the shelf, unfinished ones too, and when it was written, in seconds of the epoch."""
    for path in Path(settings.MEDIA_ROOT).glob("??/*"):
        name = path.name.lstrip(".").partition(".")[0]
        if NAME.fullmatch(name):
            yield name, path.stat().st_mtime


def throw_away(name: str) -> None:
    """Delete the files of a picture."""
    folder = path_of(name, LARGE).parent
    for path in [*folder.glob(f"{name}.*"), *folder.glob(f".{name}.*")]:
        path.unlink(missing_ok=True)
