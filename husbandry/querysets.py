"""Named, chainable reads of places, enclosures and meals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Prefetch

if TYPE_CHECKING:
    from husbandry.models import Enclosure, Place, Stay  # noqa: F401 - for the types only


class PlaceQuerySet(models.QuerySet["Place"]):
    """Reads of places."""

    def in_walking_order(self) -> PlaceQuerySet:
        """Rooms, racks, shelves and positions as one walks past them."""
        return self.order_by("walk_key", "id")


class EnclosureQuerySet(models.QuerySet["Enclosure"]):
    """Reads of enclosures."""

    def in_use(self) -> EnclosureQuerySet:
        """Not retired."""
        return self.filter(retired_on__isnull=True)

    def in_walking_order(self) -> EnclosureQuerySet:
        """By place, then by position in the place."""
        return self.order_by("place__walk_key", "position", "code")

    def with_occupants(self, stays: models.QuerySet[Stay]) -> EnclosureQuerySet:
        """With the open stays and their animals, in two more queries whatever the number."""
        open_stays = stays.filter(ends__isnull=True).select_related("specimen__taxon", "specimen__standing")
        return self.select_related("place").prefetch_related(Prefetch("stays", open_stays, to_attr="open_stays"))


class StayQuerySet(models.QuerySet["Stay"]):
    """Reads of stays."""

    def open(self) -> StayQuerySet:
        """Where animals stand now."""
        return self.filter(ends__isnull=True)
