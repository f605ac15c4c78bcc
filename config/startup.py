"""What happens between `up` and the first page. Each step does nothing when there is nothing to do."""

from __future__ import annotations

import io
import logging
import sys
from collections.abc import Callable
from logging.handlers import RotatingFileHandler
from pathlib import Path, PurePosixPath

from django.apps import apps
from django.conf import settings
from django.core.management import call_command, get_commands
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from config import backup, data_dir, static_files

Say = Callable[[str], None]

# Shared memory, on which WAL stands, does not reach over a network.
NETWORK_FILESYSTEMS = {
    "nfs",
    "nfs4",
    "cifs",
    "smb3",
    "smbfs",
    "9p",
    "virtiofs",
    "fuse.sshfs",
    "vboxsf",
    "prl_fs",
    "afpfs",
}


class CannotStart(Exception):
    """Said in the terminal, word for word."""


def make_folder() -> None:
    """The data folder, for its owner alone, with the key that signs sessions."""
    folder = Path(settings.DATA_DIR)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        data_dir.keep_secret_key(folder, str(settings.SECRET_KEY))
    except OSError as problem:
        raise CannotStart(f"The data folder cannot be used: {problem}. Name another with --data DIR.") from problem


def log_to_file() -> None:
    """Keep errors where the keeper can find them after the terminal is closed."""
    handler = RotatingFileHandler(Path(settings.DATA_DIR) / "scopula.log", maxBytes=1_000_000, backupCount=3)
    handler.setFormatter(logging.Formatter("{asctime} {levelname} {name}: {message}", style="{"))
    logging.getLogger().addHandler(handler)


def check_database(was_cut_off: bool, say: Say) -> None:
    """Refuse a place where the database would not be safe; look it over after the server was cut off."""
    if connection.vendor != "sqlite":
        return
    if kind := network_filesystem(Path(settings.DATA_DIR)):
        raise CannotStart(_no_network_share(kind))
    with connection.cursor() as cursor:
        if cursor.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            raise CannotStart(_no_network_share("no shared memory"))
        if was_cut_off:
            say("The server was cut off last time; looking the database over …")
            verdict = cursor.execute("PRAGMA quick_check(1)").fetchone()[0]
            if verdict != "ok":
                raise CannotStart(
                    f"The database is damaged ({verdict}). Nothing was changed. The newest backup is "
                    f"{_newest_name()}; put it back with: python3 manage.py restore FILE"
                )


def _newest_name() -> str:
    return str(next((stored.path for stored in backup.stored()), "not there"))


def _no_network_share(kind: str) -> str:
    return (
        f"{settings.DATA_DIR} is not on a disk of this machine ({kind}), where the database would be damaged sooner or "
        "later. Choose a local folder with --data DIR, and let only the backups go to the share (SCOPULA_BACKUPS)."
    )


def network_filesystem(folder: Path, mounts: Path = Path("/proc/self/mounts")) -> str:
    """The kind of network file system that the folder lies on; empty for a local disk, or where it cannot be known."""
    if not sys.platform.startswith("linux") or not mounts.exists():
        return ""
    where, kind = PurePosixPath("/"), ""
    for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines():
        point = PurePosixPath(line.split()[1].replace("\\040", " "))
        if folder.is_relative_to(point) and len(point.parts) >= len(where.parts):
            where, kind = point, line.split()[2]
    return kind if kind in NETWORK_FILESYSTEMS else ""


def migrate(say: Say) -> bool:
    """Bring the tables up to date, with a backup first when there is anything to lose."""
    if _named() <= set(MigrationRecorder(connection).applied_migrations()):
        return False  # told by their names: to load them all would cost memory that the server keeps
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return False
    if executor.loader.applied_migrations and connection.vendor == "sqlite":
        say(f"Backup before the update: {backup.make('migration').name}")
        backup.prune()
    call_command("migrate", verbosity=0, interactive=False)
    return True


def _named() -> set[tuple[str, str]]:
    """The app and the name of every migration that lies on the disk."""
    found = set()
    for app in apps.get_app_configs():
        files = (Path(app.path) / "migrations").glob("*.py")
        found |= {(app.label, file.stem) for file in files if not file.stem.startswith(("_", "~"))}
    return found


def run_if_there(command: str) -> bool:
    """Run a command of our own, quietly, if this version brings it."""
    if command not in get_commands():
        return False
    call_command(command, verbosity=0, stdout=io.StringIO())  # what it has to say is for those who type it
    return True


def prepare(was_cut_off: bool, say: Say) -> None:
    """All steps that need the database, in order."""
    check_database(was_cut_off, say)
    migrate(say)
    run_if_there("seed_taxa")
    static_files.build_if_changed()
