"""Work out every standing and due date anew."""

from time import perf_counter
from typing import Any

from django.core.management.base import BaseCommand

from collection import dues


class Command(BaseCommand):
    """Run it after a restore by hand, or when a list looks wrong; running it twice changes nothing."""

    help = "Works out every standing and due date anew from the events.\n\nExample: python3 manage.py rebuild_dues"

    def handle(self, *args: Any, **options: Any) -> None:
        """Rebuild all."""
        started = perf_counter()
        animals = dues.refresh_all()
        self.stdout.write(f"{animals} animals worked out anew in {perf_counter() - started:.1f} s.")
