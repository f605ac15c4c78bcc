"""Named, chainable reads of places, enclosures and meals."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Exists, OuterRef, Prefetch, Q, Subquery

if TYPE_CHECKING:
    from husbandry.models import Calibration, Enclosure, Place, Posting, Sensor, Stay  # noqa: F401 - for the types only


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


class SensorQuerySet(models.QuerySet["Sensor"]):
    """Reads of sensors."""

    def in_use(self) -> SensorQuerySet:
        """Not retired."""
        return self.filter(retired_on__isnull=True)


class PostingQuerySet(models.QuerySet["Posting"]):
    """Reads of where sensors hang and hung."""

    def at(self, instant: datetime) -> PostingQuerySet:
        """The one of each sensor that held at an instant."""
        newer = self.model.objects.filter(sensor=OuterRef("sensor"), since__gt=OuterRef("since"), since__lte=instant)
        return self.filter(~Exists(newer), since__lte=instant)

    def under(self, place: Place) -> PostingQuerySet:
        """At a place, at one that stands in it, or in an enclosure there."""
        inside = place.walk_key
        return self.filter(Q(place__walk_key__startswith=inside) | Q(enclosure__place__walk_key__startswith=inside))


class CalibrationQuerySet(models.QuerySet["Calibration"]):
    """Reads of salt tests."""

    def newest(self) -> CalibrationQuerySet:
        """The last of each sensor."""
        last = self.model.objects.filter(sensor=OuterRef("sensor")).order_by("-since").values("pk")[:1]
        return self.filter(pk=Subquery(last))
