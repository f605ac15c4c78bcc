"""One file that holds everything: the database, the photos, a readable table of each kind of record, and a manifest.

The database is copied by SQLite's own backup call in one step, which is whole and consistent while others write; a copy
of the file would not be.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import shutil
import sqlite3
import tempfile
import threading
import time
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import connection
from django.utils import timezone

from config import retention

FORMAT = 1
DATABASE, MANIFEST = "scopula.sqlite3", "manifest.json"
STAMP = "%Y-%m-%dT%H%M%SZ"
NAME = re.compile(r"scopula-(\d{4}-\d\d-\d\dT\d{6}Z)-(daily|asked|migration)\.zip")
KEPT_BEFORE_MIGRATIONS = 5
CHUNK = 1 << 20
READINGS = (
    "husbandry_reading",
    "husbandry_sensorstate",
)  # millions of rows that nobody reads as a sheet, and their end
LOOK_EVERY = 100_000  # of SQLite's steps: some milliseconds
OLD_LEFTOVERS = 24 * 60 * 60  # seconds; what a killed process left half-made
PLAIN_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?")

_one_at_a_time = threading.Lock()
stopping = threading.Event()  # set when the server ends: a backup in hand is thrown away, and nobody waits for it


class NotPossible(Exception):
    """Said to the keeper, word for word."""


class Interrupted(NotPossible):
    """The server was stopped while the backup was made."""


def _go_on() -> None:
    if stopping.is_set():
        raise Interrupted("The backup was given up, because the server was stopped.")


@dataclass(frozen=True)
class Backup:
    """One file on the shelf."""

    path: Path
    made: datetime
    kind: str

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def size(self) -> int:
        return self.path.stat().st_size


def stored() -> list[Backup]:
    """The backups on the shelf, newest first."""
    found = []
    for path in Path(settings.BACKUP_DIR).glob("scopula-*.zip"):
        if match := NAME.fullmatch(path.name):
            made = datetime.strptime(match[1], STAMP).replace(tzinfo=UTC)
            found.append(Backup(path, made, match[2]))
    return sorted(found, key=lambda backup: backup.made, reverse=True)


def newest() -> datetime | None:
    """When the last backup of any kind was made; None when there is none."""
    return max((backup.made for backup in stored()), default=None)


def make(kind: str = "asked", *, readings: bool = True) -> Backup:
    """Make a backup and put it on the shelf, complete or not at all. Raises NotPossible with the reason.

    Readings of sensors are many and seldom missed: they can be left out.
    """
    if connection.vendor != "sqlite":
        raise NotPossible("This house keeps its records in PostgreSQL: back up with pg_dump, and the photos folder.")
    shelf = Path(settings.BACKUP_DIR)
    made = datetime.now(UTC).replace(microsecond=0)
    target = shelf / f"scopula-{made.strftime(STAMP)}-{kind}.zip"
    with _one_at_a_time:
        try:
            shelf.mkdir(mode=0o700, parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(dir=shelf, prefix=".making-") as workshop:
                _pack(Path(workshop), made, kind, readings).replace(target)
        except (OSError, sqlite3.Error) as problem:
            _go_on()  # stopped is what it was, not broken
            raise NotPossible(f"The backup could not be made: {problem}") from problem
    return Backup(target, made, kind)


def make_daily() -> Backup | None:
    """Make today's backup unless it is there, then clear the shelf of what no rule keeps."""
    today = timezone.localdate()
    if any(backup.kind == "daily" and timezone.localdate(backup.made) == today for backup in stored()):
        return None
    backup = make("daily")
    prune()
    return backup


def prune() -> list[Backup]:
    """Delete daily backups that the retention does not keep, and old ones from before migrations; never asked ones."""
    shelf = stored()
    daily = {timezone.localtime(backup.made): backup for backup in shelf if backup.kind == "daily"}
    gone = [daily[moment] for moment in retention.superfluous(daily)]
    gone += [backup for backup in shelf if backup.kind == "migration"][KEPT_BEFORE_MIGRATIONS:]
    for backup in gone:
        backup.path.unlink(missing_ok=True)
    for left in Path(settings.BACKUP_DIR).glob(".making-*"):
        if time.time() - left.stat().st_mtime > OLD_LEFTOVERS:
            shutil.rmtree(left, ignore_errors=True)
    return gone


def copy_database(target: Path) -> None:
    """Copy the live database, whole and as last committed, into a file that stands alone."""
    live = str(connection.settings_dict["NAME"])  # a connection of our own: Django's may be in the middle of a write
    with (
        closing(sqlite3.connect(live, uri=live.startswith("file:"))) as source,
        closing(sqlite3.connect(target)) as copy,
    ):
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        copy.set_progress_handler(stopping.is_set, LOOK_EVERY)
        verdict = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    if verdict != "ok":
        raise sqlite3.DatabaseError(f"the database is damaged ({verdict})")


def _pack(workshop: Path, made: datetime, kind: str, readings: bool) -> Path:
    database, package = workshop / DATABASE, workshop / "package.zip"
    copy_database(database)
    if not readings:
        _drop_readings(database)
    with open(package, "xb") as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        files = {DATABASE: _add(archive, DATABASE, _chunks(database))}
        files |= {name: _add(archive, name, _chunks(path), zipfile.ZIP_STORED) for name, path in _photos()}
        with closing(sqlite3.connect(database)) as copy:
            counts = counts_in(copy)
            for table in sorted(counts.keys() & main_tables()):  # before an update, the newest tables are not there yet
                files[f"tables/{table}.csv"] = _add(archive, f"tables/{table}.csv", table_as_csv(copy, table))
            manifest = {
                "format": FORMAT,
                "version": settings.VERSION,
                "made": made.isoformat(),
                "kind": kind,
                "migrations": migrations_in(copy),
                "counts": counts,
                "files": files,
            }
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
    os.chmod(package, 0o600)
    _to_disk(package)
    return package


def _drop_readings(database: Path) -> None:
    """Take the readings out of a copy, and the room that they took."""
    with closing(sqlite3.connect(database)) as copy:
        for table in READINGS:
            copy.execute(f'DELETE FROM "{table}"')
        copy.commit()
        copy.execute("VACUUM")


def _to_disk(path: Path) -> None:
    with open(path, "r+b") as file:
        os.fsync(file.fileno())


def _add(
    archive: zipfile.ZipFile, name: str, chunks: Iterable[bytes], method: int = zipfile.ZIP_DEFLATED
) -> dict[str, object]:
    """Write one file into the archive and return its line of the manifest."""
    info = zipfile.ZipInfo(name, datetime.now(UTC).timetuple()[:6])
    info.compress_type, info.external_attr = method, 0o600 << 16
    digest, size = hashlib.sha256(), 0
    with archive.open(info, "w", force_zip64=True) as member:
        for chunk in chunks:
            _go_on()
            digest.update(chunk)
            size += len(chunk)
            member.write(chunk)
    return {"sha256": digest.hexdigest(), "bytes": size}


def _chunks(path: Path) -> Iterator[bytes]:
    with open(path, "rb") as file:
        while chunk := file.read(CHUNK):
            yield chunk


def _photos() -> Iterator[tuple[str, Path]]:
    folder = Path(settings.MEDIA_ROOT)
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.name.startswith("."):  # a dot: not written to its end yet
            yield f"photos/{path.relative_to(folder).as_posix()}", path


def main_tables() -> set[str]:
    """The tables a person would want to read: our records, without their history and without the machinery."""
    ours = (
        model for label in ("collection", "husbandry", "breeding") for model in apps.get_app_config(label).get_models()
    )
    return {model._meta.db_table for model in ours if not model.__name__.startswith("Historical")} - set(READINGS)


def table_as_csv(database: sqlite3.Connection, table: str) -> Iterator[bytes]:
    """A table as a spreadsheet reads it: a heading, one line a record, nothing that acts as a formula."""
    rows = database.execute(f'SELECT * FROM "{table}"')
    line = io.StringIO()
    writer = csv.writer(line)
    writer.writerow(column[0] for column in rows.description)
    yield b"\xef\xbb\xbf" + line.getvalue().encode()
    for row in rows:
        line.seek(0)
        line.truncate()
        writer.writerow(map(harmless, row))
        yield line.getvalue().encode()


def harmless(cell: object) -> object:
    """Put an apostrophe before text that a spreadsheet would run as a formula; plain numbers pass.

    >>> harmless("=1+1"), harmless("-2,5"), harmless("B. albiceps")
    ("'=1+1", '-2,5', 'B. albiceps')
    """
    if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r")) and not PLAIN_NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


def counts_in(database: sqlite3.Connection) -> dict[str, int]:
    """How many rows each table holds."""
    query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    names = [name for (name,) in database.execute(query)]
    return {name: database.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}


def migrations_in(database: sqlite3.Connection) -> dict[str, list[str]]:
    """The migrations that the database has been through, by app."""
    found: dict[str, list[str]] = {}
    for app, name in database.execute("SELECT app, name FROM django_migrations ORDER BY app, id"):
        found.setdefault(app, []).append(name)
    return found
