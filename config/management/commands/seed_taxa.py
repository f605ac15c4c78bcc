"""`manage.py seed_taxa`: the shipped species, with their defaults."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from collection import taxa


class Command(BaseCommand):
    """Bring the shipped taxa in or up to date; the keeper's own edits stay."""

    help = (
        "Brings the shipped species and their defaults in or up to date; what you edited stays. "
        "Example: python3 manage.py seed_taxa"
    )

    def handle(self, *args: Any, **options: Any) -> None:
        """Seed and say what was done."""
        done = taxa.seed()
        if options["verbosity"] == 0:
            return
        if done.unchanged:
            self.stdout.write("The shipped species are in place already.")
        else:
            self.stdout.write(f"Species: {done.new} new, {done.changed} changed; {done.kept} edits of yours kept.")
