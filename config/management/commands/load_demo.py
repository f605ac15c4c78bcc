"""`manage.py load_demo`: the invented collection."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from config.demo import accounts, load

OLD_AFTER_DAYS = 3


class Command(BaseCommand):
    """Fill an empty database with an invented collection, and say how to sign in."""

    help = (
        "Fills an empty database with an invented collection and prints how to sign in; refuses among real animals. "
        "Example: python3 manage.py load_demo --demo --anew"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """For which day, and whether again."""
        parser.add_argument("--demo", action="store_true", help="in the folder of the invented collection")
        parser.add_argument("--anew", action="store_true", help="throw an older invented collection away first")
        parser.add_argument("--today", type=date.fromisoformat, metavar="YYYY-MM-DD", help="build it around this day")

    def handle(self, *args: Any, **options: Any) -> None:
        """Load it unless it is there; then say how to sign in."""
        today = options["today"] or timezone.localdate()
        try:
            load.refuse_among_real_animals()
        except load.NotEmpty as problem:
            raise CommandError(str(problem)) from problem
        there = load.loaded_for()
        sign_in = accounts.ensure(today)
        if there is None or options["anew"]:
            load.load(today)
        elif (today - there).days > OLD_AFTER_DAYS:
            self.stdout.write(
                f"The invented collection was made for {there}; the days since count as overdue. "
                "Make it anew with: python3 manage.py load_demo --demo --anew"
            )
        self.stdout.write(sign_in.sentence)
