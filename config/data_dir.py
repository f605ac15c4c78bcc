"""Where the keeper's data lives. Standard library only: asked before Django is there and before the settings load."""

from __future__ import annotations

import os
import secrets
import sys
from pathlib import Path

VARIABLE = "SCOPULA_DATA"
SECRET_KEY_FILE = "secret-key"


def default(platform: str = sys.platform) -> Path:
    """The folder where this system keeps a user's data, with ours in it."""
    home = Path.home()
    if platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "Scopula"
    if platform == "darwin":
        return home / "Library" / "Application Support" / "Scopula"
    return Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "scopula"


def current() -> Path:
    """The folder in force: the one that was asked for, else the system's."""
    asked = os.environ.get(VARIABLE, "").strip()
    return Path(asked).expanduser().absolute() if asked else default()


def choose(argv: list[str]) -> list[str]:
    """Take `--data DIR` out of any command line and put it in force; `--demo` alone gets a folder of its own.

    An invented collection must never land among real animals, so `--demo` beside no `--data` goes next door.
    """
    rest, asked = _without_data_option(argv)
    if asked:
        os.environ[VARIABLE] = str(Path(asked).expanduser().absolute())
    elif "--demo" in rest[1:]:
        real = current()
        os.environ[VARIABLE] = str(real.with_name(real.name + "-demo"))
    return rest


def _without_data_option(argv: list[str]) -> tuple[list[str], str | None]:
    rest: list[str] = []
    asked = None
    words = iter(argv)
    for word in words:
        if word == "--data":
            asked = next(words, None)
            if not asked or asked.startswith("-"):
                raise SystemExit("--data wants a folder after it, for example: --data ~/scopula")
        elif word.startswith("--data="):
            asked = word.removeprefix("--data=")
        else:
            rest.append(word)
    return rest, asked


def secret_key(folder: Path) -> str:
    """The key that signs sessions: the one kept in the folder, else one for this process alone."""
    try:
        return (folder / SECRET_KEY_FILE).read_text(encoding="ascii").strip()
    except FileNotFoundError:
        return secrets.token_urlsafe(50)


def keep_secret_key(folder: Path, key: str) -> None:
    """Write the key where only the owner can read it; a key that is already there stays."""
    try:
        handle = os.open(folder / SECRET_KEY_FILE, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key + "\n")
