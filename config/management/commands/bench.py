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
from config.bench import run

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
        parser.add_argument("--serve", type=int, metavar="PORT", help="serve that folder and do nothing else")

    def handle(self, *args: Any, **options: Any) -> None:
        """The sizes one after the other, or one of the inner steps."""
        if options["serve"]:
            server.serve(server.open_port("127.0.0.1", options["serve"]))
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
        with tempfile.TemporaryDirectory(prefix="scopula-bench-", dir=options["folder"]) as folder:
            environment = {**os.environ, "SCOPULA_DATA": folder, "SCOPULA_BACKUPS": str(Path(folder) / "backups")}
            environment.pop("DATABASE_URL", None)
            command = [sys.executable, sys.argv[0], "bench", "--one", str(size)]
            command += ["--feedings", str(options["feedings"]), "--runs", str(options["runs"])]
            done = subprocess.run(command, env=environment, capture_output=True, text=True, encoding="utf-8")
        found = [line for line in done.stdout.splitlines() if line.startswith(MARK)]
        if not found:
            last = "\n  ".join((done.stderr or done.stdout).strip().splitlines()[-3:])
            raise CommandError(f"The measurement of {size} animals failed:\n  {last}")
        return run.from_plain(json.loads(found[0].removeprefix(MARK)))
