"""`manage.py bench`: how fast it answers, measured on throw-away collections."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import server
from config.bench import climate, run

MARK = "bench-result "


class Command(BaseCommand):
    """Measure each size in a process and a folder of its own; nothing of the keeper's is touched."""

    help = (
        "Measures dashboard, register, animal page and logging one feed on invented collections, in a folder that is "
        "thrown away, beside the bare SQL, and prints a table. "
        "Example: python3 manage.py bench --sizes 500,5000 --feedings 100"
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """How large, and how often."""
        parser.add_argument("--sizes", default="500,5000,20000", help="animals, parted by commas; default: %(default)s")
        parser.add_argument("--feedings", type=int, default=100, help="feedings of each animal; default: %(default)s")
        parser.add_argument("--runs", type=int, default=60, help="measurements of each page; default: %(default)s")
        parser.add_argument("--in", dest="folder", help="folder on the disk to measure; default: the temporary one")
        parser.add_argument("--one", type=int, help="measure one size in the data folder given by the environment")
        parser.add_argument(
            "--climate", action="store_true", help="measure the climate's pages instead, on a year of 40 sensors"
        )
        parser.add_argument("--sensors", type=int, default=40, help="for --climate; default: %(default)s")
        parser.add_argument("--days", type=int, default=365, help="for --climate; default: %(default)s")
        parser.add_argument("--climate-here", action="store_true", help="fill and measure the data folder given")
        parser.add_argument("--serve", type=int, metavar="PORT", help="serve that folder and do nothing else")

    def handle(self, *args: Any, **options: Any) -> None:
        """The sizes one after the other, or one of the inner steps."""
        if options["serve"]:
            server.serve(server.open_port("127.0.0.1", options["serve"]))
        elif options["climate_here"]:
            self.stdout.write(climate.measure(options["sensors"], options["days"]))
        elif options["climate"]:
            numbers = ["--sensors", str(options["sensors"]), "--days", str(options["days"])]
            done = self._in_a_folder(["--climate-here", *numbers], options["folder"])
            if done.returncode:
                raise CommandError("The measurement failed:\n  " + "\n  ".join(done.stderr.splitlines()[-3:]))
            self.stdout.write(done.stdout)
        elif options["one"]:
            self.stdout.write(MARK + json.dumps(asdict(run.one(options["one"], options["feedings"], options["runs"]))))
        else:
            self._all(self._sizes(options["sizes"]), options)

    def _all(self, sizes: list[int], options: dict[str, Any]) -> None:
        """One size after the other; what was measured is shown even when a later size fails."""
        results: list[run.Result] = []
        try:
            for size in sizes:
                results.append(self._apart(size, options))
        finally:
            if results:
                self.stdout.write(run.table(results))

    def _sizes(self, text: str) -> list[int]:
        try:
            sizes = [int(part) for part in text.split(",")]
        except ValueError:
            sizes = []
        if not sizes or min(sizes) < 1:
            raise CommandError("--sizes wants whole numbers above zero, for example: --sizes 500,5000")
        return sizes

    def _apart(self, size: int, options: dict[str, Any]) -> run.Result:
        """One size in a process and a folder of its own, gone afterwards."""
        self.stderr.write(f"{size} animals with {options['feedings']} feedings each …")
        numbers = ["--feedings", str(options["feedings"]), "--runs", str(options["runs"])]
        done = self._in_a_folder(["--one", str(size), *numbers], options["folder"])
        found = [line for line in done.stdout.splitlines() if line.startswith(MARK)]
        if not found:
            last = "\n  ".join((done.stderr or done.stdout).strip().splitlines()[-3:])
            raise CommandError(f"The measurement of {size} animals failed:\n  {last}")
        return run.from_plain(json.loads(found[0].removeprefix(MARK)))

    def _in_a_folder(self, arguments: list[str], where: str | None) -> subprocess.CompletedProcess[str]:
        """Run this command once more, in a process and a folder of its own that is gone afterwards."""
        with tempfile.TemporaryDirectory(prefix="scopula-bench-", dir=where) as folder:
            environment = {**os.environ, "SCOPULA_DATA": folder, "SCOPULA_BACKUPS": str(Path(folder) / "backups")}
            environment.pop("DATABASE_URL", None)
            command = [sys.executable, sys.argv[0], "bench", *arguments]
            return subprocess.run(command, env=environment, capture_output=True, text=True, encoding="utf-8")
