"""Putting a backup back. Everything is checked before anything is touched, and the old data is kept aside."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import connections
from django.db.migrations.loader import MigrationLoader

from config import running
from config.backup import CHUNK, DATABASE, FORMAT, MANIFEST, STAMP, NotPossible, counts_in

EXPECTED_NAME = re.compile(rf"{re.escape(DATABASE)}|tables/\w+\.csv|photos(/[\w.-]+)+")


@dataclass(frozen=True)
class Contents:
    """What a backup says of itself, after every file in it was found to be as it says."""

    made: datetime
    version: str
    counts: dict[str, int]
    files: dict[str, dict[str, Any]]


def examine(path: Path) -> Contents:
    """Read and check a backup whole: its manifest, every hash, and that this version can hold it."""
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _manifest(archive)
            _check_version(manifest)
            _check_names(archive, manifest["files"])
            for name, said in manifest["files"].items():
                _check_file(archive, name, said)
            made = datetime.fromisoformat(manifest["made"])
            return Contents(made, manifest["version"], manifest["counts"], manifest["files"])
    except FileNotFoundError as problem:
        raise NotPossible(f"There is no file {path}.") from problem
    except (zipfile.BadZipFile, zlib.error, OSError, RuntimeError, EOFError) as problem:
        raise NotPossible(f"{path.name} cannot be read as a backup; it is damaged or something else.") from problem
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise NotPossible(f"The manifest in {path.name} is damaged.") from problem


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    if MANIFEST not in archive.namelist():
        raise NotPossible("That file has no manifest: it is not a backup of Scopula.")
    manifest: dict[str, Any] = json.loads(archive.read(MANIFEST))
    return manifest


def _check_version(manifest: dict[str, Any]) -> None:
    known = set(MigrationLoader(None).disk_migrations)
    unknown = [
        f"{app} {name}" for app, names in manifest["migrations"].items() for name in names if (app, name) not in known
    ]
    if manifest["format"] > FORMAT or unknown:
        raise NotPossible(
            f"That backup was made by a newer version ({manifest['version']}; this is {settings.VERSION}). "
            "Update Scopula first, then restore."
        )


def _check_names(archive: zipfile.ZipFile, files: dict[str, Any]) -> None:
    names = archive.namelist()
    if sorted(names) != sorted([*files, MANIFEST]) or DATABASE not in files:
        raise NotPossible(
            "The files in that backup are not those of its manifest. It was changed; nothing was restored."
        )
    if strange := [name for name in files if not EXPECTED_NAME.fullmatch(name) or ".." in name]:
        raise NotPossible(f"That backup holds a file with a strange name ({strange[0]}); nothing was restored.")


def _check_file(archive: zipfile.ZipFile, name: str, said: dict[str, Any]) -> None:
    digest, size = hashlib.sha256(), 0
    with archive.open(name) as member:
        while (chunk := member.read(CHUNK)) and size <= said["bytes"]:
            digest.update(chunk)
            size += len(chunk)
    if size != said["bytes"] or digest.hexdigest() != said["sha256"]:
        raise NotPossible(f"{name} in that backup is not as its manifest says. It was changed; nothing was restored.")


def restore(path: Path) -> Path:
    """Put a backup in the place of the present data. Returns the folder in which the present data was set aside."""
    folder = Path(settings.DATA_DIR)
    if settings.DATABASES["default"]["ENGINE"] != "django.db.backends.sqlite3":
        raise NotPossible("This house keeps its records in PostgreSQL: restore with pg_restore.")
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        with running.mark(folder):
            contents = examine(path)
            with tempfile.TemporaryDirectory(dir=folder, prefix=".restoring-") as arrived:
                _unpack(path, contents, Path(arrived))
                aside = _swap(folder, Path(arrived))
            call_command("migrate", verbosity=0)
    except running.AlreadyRunning as problem:
        raise NotPossible("Scopula is running on this data. Stop it (Ctrl-C where it runs), then restore.") from problem
    return aside


def _unpack(path: Path, contents: Contents, arrived: Path) -> None:
    with zipfile.ZipFile(path) as archive:
        for name in contents.files:
            if not name.startswith("tables/"):
                archive.extract(name, arrived)
    with closing(sqlite3.connect(arrived / DATABASE)) as database:
        verdict = database.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if verdict != "ok" or counts_in(database) != contents.counts:
            raise NotPossible(f"The database in that backup is damaged ({verdict}); nothing was restored.")


def _swap(folder: Path, arrived: Path) -> Path:
    """Move the present data aside and what arrived into its place: renames only, so nothing is ever half there."""
    connections.close_all()
    aside = folder / f"set-aside-{datetime.now(UTC).strftime(STAMP)}"
    aside.mkdir(mode=0o700)
    photos = Path(settings.MEDIA_ROOT)
    for present in [*folder.glob(f"{DATABASE}*"), photos]:
        if present.exists():
            present.rename(aside / present.name)
    (arrived / DATABASE).rename(folder / DATABASE)
    if (arrived / "photos").exists():
        shutil.move(arrived / "photos", photos)
    return aside
