"""The time zone of this machine, by its IANA name. Standard library only."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from zoneinfo import ZoneInfo

FALLBACK = "UTC"


def local_name(localtime: Path = Path("/etc/localtime"), written: Path = Path("/etc/timezone")) -> str:
    """The zone asked for by SCOPULA_TIME_ZONE or TZ, else the system's own, else UTC."""
    candidates = [os.environ.get("SCOPULA_TIME_ZONE", ""), os.environ.get("TZ", "").lstrip(":")]
    candidates += [_windows_name()] if sys.platform == "win32" else [_linked_name(localtime), _written_name(written)]
    return next((name for name in candidates if _is_known(name)), FALLBACK)


def _is_known(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        return False
    return True


def _linked_name(localtime: Path) -> str:
    """Linux and macOS link /etc/localtime into the zone folder."""
    return localtime.resolve().as_posix().partition("zoneinfo/")[2]


def _written_name(written: Path) -> str:
    try:
        return written.read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        return ""


def _windows_name() -> str:
    """Windows names its zones otherwise, but since 2019 it carries ICU, which knows the IANA name."""
    import ctypes

    try:
        icu = ctypes.CDLL("icu.dll")
        name, status = ctypes.create_unicode_buffer(64), ctypes.c_int(0)
        icu.ucal_getDefaultTimeZone(name, 64, ctypes.byref(status))
    except (OSError, AttributeError):
        return ""
    return name.value
