"""`manage.py restore FILE`: a backup back into its place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import restore
from config.backup import NotPossible


class Command(BaseCommand):
    """Check a backup, then put it in the place of the present data."""

    help = (
        "Puts a backup in the place of the present data. The file is checked first, and the present data is kept "
        "aside. Example: python3 manage.py restore scopula-2026-12-04T031500Z-daily.zip"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """The file, and consent in advance."""
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--yes", action="store_true", help="do not ask before replacing the present data")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what the file holds, ask, and restore it."""
        try:
            contents = restore.examine(options["file"])
            animals = contents.counts.get("collection_specimen", 0)
            self.stdout.write(
                f"A backup of {contents.made:%Y-%m-%d %H:%M} UTC with {animals} animal records; every file is whole."
            )
            if not options["yes"] and input("Put it in the place of the present data? [y/N] ").strip().lower() != "y":
                raise CommandError("Nothing was changed.")
            aside = restore.restore(options["file"])
        except NotPossible as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"Restored. The data from before is in {aside}")
