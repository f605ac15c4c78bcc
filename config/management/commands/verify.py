"""`manage.py verify`: everything that must hold before a change goes in, in one report."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

TOOLS = Path(sys.executable).parent
MANAGE = [sys.executable, "manage.py"]


def steps() -> dict[str, list[str]]:
    """Every check by its name, cheap ones first."""
    templates = sorted(str(path) for path in (settings.BASE_DIR / "templates").rglob("*.html"))
    return {
        "format": [_tool("ruff"), "format", "--check", "."],
        "lint": [_tool("ruff"), "check", "--output-format=concise", "."],
        "templates": [_tool("djade"), "--check", *templates],
        "contracts": [_tool("lint-imports")],
        "migrations": [*MANAGE, "makemigrations", "--check", "--dry-run"],
        "deployment": [*MANAGE, "check", "--deploy", "--fail-level", "WARNING"],
        "types": [_tool("mypy")],
        "tests": [_tool("pytest"), "-q", "--cov", "--cov-report=term:skip-covered"],
    }


def _tool(name: str) -> str:
    return str(TOOLS / name)


def _environment(folder: str) -> dict[str, str]:
    """Away from the keeper's data; and the tests choose their own settings, which this variable would overrule."""
    kept = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    return {**kept, "SCOPULA_DATA": folder}


class Command(BaseCommand):
    """Run the checks, all of them even when one fails, and sum up."""

    help = (
        "Runs everything CI checks: format, lint, templates, contracts, migrations, deployment, types and tests. "
        "Example: python3 manage.py verify. Some only: python3 manage.py verify lint types"
    )
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """Which checks."""
        parser.add_argument("checks", nargs="*", metavar="CHECK", help=f"of {', '.join(steps())}; default: all")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run, report, and fail if anything did."""
        known = steps()
        if unknown := set(options["checks"]) - set(known):
            raise CommandError(f"There is no check named {', '.join(sorted(unknown))}.")
        closing, failed = "", []
        with tempfile.TemporaryDirectory(prefix="scopula-verify-") as folder:
            for name in options["checks"] or known:
                output, passed = self._run(name, known[name], folder)
                failed += [] if passed else [name]
                closing = closing_line(output) if name == "tests" else closing
        if closing:
            self.stdout.write(closing)
        if failed:
            raise CommandError(f"Failed: {', '.join(failed)}.")
        self.stdout.write("Everything holds.")

    def _run(self, name: str, command: list[str], folder: str) -> tuple[str, bool]:
        """Run one check; of what it says, show only a failing one's."""
        began = time.monotonic()
        done = subprocess.run(
            command,
            cwd=settings.BASE_DIR,
            env=_environment(folder),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            errors="replace",
        )
        passed = done.returncode == 0
        total = f"   {coverage(done.stdout)}" if name == "tests" else ""
        self.stdout.write(f"{'ok' if passed else 'FAILED':<8}{name:<12}{time.monotonic() - began:6.1f} s{total}")
        if not passed:
            self.stdout.write("".join(f"    {line}\n" for line in done.stdout.splitlines()))
        self.stdout.flush()
        return done.stdout, passed


def closing_line(output: str) -> str:
    """The line with which pytest sums up."""
    return next((line for line in reversed(output.splitlines()) if re.search(r"\d+ \w+.* in [\d.]+s", line)), "")


def coverage(output: str) -> str:
    """The share of lines and branches that the tests went through, as the report's last row says."""
    total = re.search(r"^TOTAL .*?(\d+%)$", output, re.MULTILINE)
    return f"{total[1]} of lines and branches run" if total else ""
