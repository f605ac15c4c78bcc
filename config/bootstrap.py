"""The project's own environment, made from a bare clone by a bare Python. Standard library only.

`ensure` does nothing when the environment is in use and matches its stamp. Otherwise it makes `.venv`, installs what
the command needs, pinned by `constraints.txt`, and starts the same command again inside. What is missing on this
machine is named with its remedy.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import NoReturn

BASE = Path(__file__).resolve().parent.parent
VENV = BASE / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "installed.json"
DEV_COMMANDS = {"verify"}
SOURCE_ONLY = ("autograd-gamma",)  # published as source alone, under lifelines; plain Python, so nothing is compiled

NO_VENV = """This Python cannot make environments: its {module} module is missing.
  Debian, Ubuntu, Raspberry Pi OS:  sudo apt install python3-venv
  others: install the complete Python package of your system, or Python from https://www.python.org/downloads/
Then run the same command again."""

# What pip says when it fails, and what to do about it; the first that matches is shown.
REMEDIES = [
    (r"No space left on device", "The disk is full: the packages need about 500 MB. Free some space and try again."),
    (r"Permission denied|Access is denied", f"{VENV} cannot be written. Clone into a folder of your own."),
    (
        r"CERTIFICATE_VERIFY_FAILED|SSLError",
        "The package index could not be trusted: check this machine's date and time, or your network's certificate.",
    ),
    (
        r"NewConnectionError|NameResolutionError|Failed to establish|Name or service not known|getaddrinfo failed"
        r"|Network is unreachable|ConnectTimeoutError|Read timed out|ProxyError|Connection refused",
        "No connection to the Python package index. Only the first start needs the network, to fetch the packages:\n"
        "connect this machine and run the same command again. Behind a proxy, set HTTPS_PROXY first.",
    ),
    (
        r"No matching distribution found",
        "A package has no ready-made build for this system and this Python.\n"
        "Try a 64-bit Python between 3.11 and 3.14; {python} is in use.",
    ),
]


class CannotInstall(Exception):
    """Said to the person at the keyboard, word for word."""


def ensure(argv: list[str]) -> None:
    """Return inside a complete environment; otherwise make it so and start the command again inside."""
    extras = wanted_extras(argv)
    inside = Path(sys.prefix).resolve() == VENV.resolve()
    if inside and is_complete(extras):
        return
    try:
        if not is_complete(extras):
            make_environment()
            install(extras)
    except CannotInstall as problem:
        sys.exit(str(problem))
    if not inside:
        start_again(argv)


def wanted_extras(argv: list[str]) -> list[str]:
    """The optional dependencies that this command, in this house, cannot do without."""
    extras = ["dev", "https"] if len(argv) > 1 and argv[1] in DEV_COMMANDS else []
    if os.environ.get("SCOPULA_HTTPS", "").strip().lower() in {"1", "true", "yes", "on"} and "https" not in extras:
        extras.append("https")
    if os.environ.get("DATABASE_URL", "").startswith("postgres"):
        extras.append("postgres")
    return extras


def requirements(extra: str = "") -> list[str]:
    """What `pyproject.toml` asks for: the base, or one extra."""
    project = tomllib.loads((BASE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    found: list[str] = project["optional-dependencies"][extra] if extra else project["dependencies"]
    return found


def fingerprint(extra: str = "") -> str:
    """Changes when a requirement or a pin does."""
    text = json.dumps(requirements(extra)) + (BASE / "constraints.txt").read_text(encoding="utf-8")
    return hashlib.sha256(text.encode()).hexdigest()


def is_complete(extras: list[str]) -> bool:
    """Whether the environment's stamp says that the base and these extras are in, at today's pins."""
    if not PYTHON.exists():
        return False
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return all(stamp.get(extra) == fingerprint(extra) for extra in ["", *extras])


def make_environment() -> None:
    """Make `.venv` unless a working one is there; a half-made one is made anew."""
    if PYTHON.exists() and _runs([str(PYTHON), "-c", "import pip"]):
        return
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise CannotInstall(NO_VENV.format(module=module))
    print(f"Making the project's own environment in {VENV} …", flush=True)
    made = subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)], capture_output=True, text=True)
    if made.returncode:
        raise CannotInstall(explain(made.stdout + made.stderr, "The environment could not be made."))


def _runs(command: list[str]) -> bool:
    try:
        return subprocess.run(command, capture_output=True).returncode == 0
    except OSError:
        return False


def install(extras: list[str]) -> None:
    """Install the base and the extras at the pinned versions, then stamp the environment."""
    wanted = ["", *extras]
    packages = [requirement for extra in wanted for requirement in requirements(extra)]
    print(f"Fetching {len(packages)} packages; only the first start needs this …", flush=True)
    command = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--retries=2"]
    command += [
        "--only-binary=:all:",
        *(f"--no-binary={name}" for name in SOURCE_ONLY),
        "--constraint",
        str(BASE / "constraints.txt"),
        *packages,
    ]
    code, output = _run_showing_names(command)
    if code:
        raise CannotInstall(explain(output, "The packages could not be installed."))
    STAMP.write_text(json.dumps({extra: fingerprint(extra) for extra in wanted}), encoding="utf-8")


def _run_showing_names(command: list[str]) -> tuple[int, str]:
    """Run pip; of all it says, show only which package it is at, on one line that is written over."""
    environment = {**os.environ, "PIP_USER": "0", "PYTHONUTF8": "1"}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8", env=environment
    ) as process:
        assert process.stdout is not None
        lines = []
        for line in process.stdout:
            lines.append(line)
            if sys.stdout.isatty() and (name := re.match(r"\s*(?:Collecting|Installing) ([\w.-]+)", line)):
                print(f"\r  {name[1]:<60}", end="", flush=True)
    if sys.stdout.isatty():
        print("\r" + " " * 62 + "\r", end="", flush=True)
    return process.returncode, "".join(lines)


def explain(output: str, headline: str) -> str:
    """Turn a failed installer's output into a remedy, or into its last words."""
    version = ".".join(map(str, sys.version_info[:2]))
    for pattern, remedy in REMEDIES:
        if re.search(pattern, output):
            return f"{headline} {remedy.format(python=version)}"
    last = [line.strip() for line in output.splitlines() if line.strip()][-3:]
    return "\n  ".join([headline + " The installer's last words:", *last])


def start_again(argv: list[str]) -> NoReturn:
    """Run the same command with the environment's Python; this process ends with it."""
    command = [str(PYTHON), str(BASE / "manage.py"), *argv[1:]]
    if os.name != "nt":
        os.execv(command[0], command)
    with subprocess.Popen(command) as process:  # Windows has no exec: stay, and let the child answer Ctrl-C
        while True:
            try:
                sys.exit(process.wait())
            except KeyboardInterrupt:
                continue
