"""Styles and scripts with hashed names, built again only when they changed."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from importlib.metadata import version
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.management.commands import collectstatic
from django.contrib.staticfiles.storage import ManifestFilesMixin, staticfiles_storage
from django.core.files.storage import storages
from django.core.management import call_command

STAMP = "built-from"


def build_if_changed() -> bool:
    """Collect, hash and compress the static files unless what lies there was made from the same ones.

    They are built in a folder beside and put in place whole, so that two servers that start at once, or one that is
    stopped half-way, leave nothing half-built.
    """
    root = Path(settings.STATIC_ROOT or "")
    now = fingerprint()
    if _is_of(root, now):
        return False
    root.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=root.parent, prefix=f".{root.name}-") as beside:
        built = Path(beside) / "built"
        _collect(built)
        (built / STAMP).write_text(now, encoding="ascii")
        _put_in_place(built, root, Path(beside) / "old", now)
    _read_names_anew()
    return True


def _is_of(root: Path, wanted: str) -> bool:
    stamp = root / STAMP
    return stamp.exists() and stamp.read_text(encoding="ascii") == wanted


def _collect(folder: Path) -> None:
    kind = settings.STORAGES["staticfiles"]["BACKEND"]
    command = collectstatic.Command()
    command.storage = storages.create_storage({"BACKEND": kind, "OPTIONS": {"location": str(folder)}})
    call_command(command, interactive=False, verbosity=0)


def _put_in_place(built: Path, root: Path, old: Path, now: str) -> None:
    """Put the new folder where the old one was; when another process was quicker with the same, leave that."""
    try:
        if root.exists():
            root.rename(old)
        built.rename(root)
    except OSError:
        if not _is_of(root, now):  # Windows does not let go of a folder that a server reads from
            shutil.copytree(built, root, dirs_exist_ok=True)


def _read_names_anew() -> None:
    """This process may have read the names of the files before there were any."""
    if isinstance(staticfiles_storage, ManifestFilesMixin):
        staticfiles_storage.hashed_files, staticfiles_storage.manifest_hash = staticfiles_storage.load_manifest()


def fingerprint() -> str:
    """Changes when any static file does, or what compresses them."""
    digest = hashlib.sha256(version("whitenoise").encode())
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=lambda found: found[0]):
            digest.update(f"\n{name}\n".encode())
            digest.update(Path(storage.path(name)).read_bytes())
    return digest.hexdigest()
