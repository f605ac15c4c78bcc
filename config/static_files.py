"""Styles and scripts with hashed names, built again only when they changed."""

from __future__ import annotations

import hashlib
from importlib.metadata import version
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

STAMP = "built-from"


def build_if_changed() -> bool:
    """Collect, hash and compress the static files unless what lies there was made from the same ones."""
    stamp = Path(settings.STATIC_ROOT or "") / STAMP
    now = fingerprint()
    if stamp.exists() and stamp.read_text(encoding="ascii") == now:
        return False
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    stamp.write_text(now, encoding="ascii")
    return True


def fingerprint() -> str:
    """Changes when any static file does, or what compresses them."""
    digest = hashlib.sha256(version("whitenoise").encode())
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=lambda found: found[0]):
            digest.update(f"\n{name}\n".encode())
            digest.update(Path(storage.path(name)).read_bytes())
    return digest.hexdigest()
