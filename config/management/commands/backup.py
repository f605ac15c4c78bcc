"""`manage.py backup`: everything into one file."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import backup


class Command(BaseCommand):
    """Make a backup now, also while the server runs."""

    help = (
        "Makes a backup of the records and photos, also while the server runs. "
        "Example: python3 manage.py backup. With --data DIR it backs up the collection in that folder."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """What may be left out."""
        parser.add_argument(
            "--without-readings", action="store_true", help="leave out what sensors measured: most of the size"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Make it and say where it is."""
        try:
            made = backup.make(readings=not options["without_readings"])
        except backup.NotPossible as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"{made.path}  ({made.size / 1e6:.1f} MB)")
