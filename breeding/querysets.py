"""Named, chainable reads of pairings and sacs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models

if TYPE_CHECKING:
    from breeding.models import EggSac, Pairing  # noqa: F401 - for the types only


class PairingQuerySet(models.QuerySet["Pairing"]):
    """Reads of pairings."""

    def for_display(self) -> PairingQuerySet:
        """With both animals."""
        return self.select_related(
            "female__taxon", "female__standing", "male__taxon", "male__standing"
        ).prefetch_related("meetings")


class EggSacQuerySet(models.QuerySet["EggSac"]):
    """Reads of egg sacs."""

    def running(self) -> EggSacQuerySet:
        """Sacs whose outcome is not known yet."""
        return self.filter(outcome="")

    def for_display(self) -> EggSacQuerySet:
        """With the female and the pairing."""
        return self.select_related("female__taxon", "female__standing", "pairing__male").prefetch_related("head_counts")
