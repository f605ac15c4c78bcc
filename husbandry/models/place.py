"""Places, enclosures, and who stands where."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from collection.models import Specimen
from collection.models.base import Kept, ordered, positive
from collection.models.specimen import new_tag
from husbandry.querysets import EnclosureQuerySet, PlaceQuerySet, StayQuerySet


class Place(Kept):
    """Room, rack, shelf or position: a tree with a walking order."""

    class Kind(models.TextChoices):
        """What sort of place."""

        ROOM = "room", "room"
        RACK = "rack", "rack"
        SHELF = "shelf", "shelf"
        TRAY = "tray", "tray"
        POSITION = "position", "position"

    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.RACK.value)
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="inside")
    order = models.PositiveIntegerField("order in the walk", default=0)
    note = models.CharField(max_length=120, blank=True)
    quarantine = models.BooleanField("for quarantine alone", default=False)
    walk_key = models.CharField(max_length=200, blank=True, editable=False, db_index=True)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["walk_key", "id"]
        constraints = [
            models.UniqueConstraint(fields=["parent", "name"], name="place_name_once_in_its_parent"),
            models.UniqueConstraint(fields=["name"], condition=Q(parent__isnull=True), name="place_name_once_on_top"),
            models.CheckConstraint(condition=Q(parent__isnull=True) | ~Q(parent=F("id")), name="place_not_in_itself"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The place's own page."""
        return reverse("husbandry:place-detail", args=[self.pk])

    @property
    def depth(self) -> int:
        """How deep in the tree it stands, from 1."""
        return max(len(self.walk_key) // 4, 1)


class Enclosure(Kept):
    """A box, cup, tank or tub that animals live in."""

    class Kind(models.TextChoices):
        """What it is made as."""

        GLASS = "glass", "glass"
        ACRYLIC = "acrylic", "acrylic"
        BOX = "box", "plastic box"
        CUP = "cup", "cup"
        VIAL = "vial", "vial"
        TUB = "tub", "tub"
        NET = "net", "net cage"
        OTHER = "other", "other"

    class Ventilation(models.TextChoices):
        """Where the air goes."""

        CROSS = "cross", "cross"
        TOP = "top", "top"
        BOTH = "both", "cross and top"

    code = models.CharField(max_length=40, unique=True)
    tag = models.CharField(max_length=8, unique=True, default=new_tag, editable=False)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="enclosures")
    position = models.PositiveIntegerField("position in the place", default=0)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.BOX.value)
    length_mm = models.FloatField("inner length, mm", null=True, blank=True)
    width_mm = models.FloatField("inner width, mm", null=True, blank=True)
    height_mm = models.FloatField("inner height, mm", null=True, blank=True)
    substrate_mm = models.FloatField("substrate depth, mm", null=True, blank=True)
    ventilation = models.CharField(max_length=10, choices=Ventilation.choices, blank=True)
    water_dish = models.BooleanField(default=True)
    water_days = models.PositiveSmallIntegerField("own rhythm for water, days", null=True, blank=True)
    celsius_min = models.FloatField("own band, from °C", null=True, blank=True)
    celsius_max = models.FloatField("own band, to °C", null=True, blank=True)
    humidity_min = models.FloatField("own band, from %", null=True, blank=True)
    humidity_max = models.FloatField("own band, to %", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    objects = EnclosureQuerySet.as_manager()

    class Meta:
        ordering = ["place__walk_key", "position", "code"]
        constraints = [
            models.CheckConstraint(
                condition=positive("length_mm", "width_mm", "height_mm", "water_days"), name="enclosure_sizes_above_0"
            ),
            models.CheckConstraint(
                condition=Q(substrate_mm__isnull=True) | Q(substrate_mm__gte=0), name="enclosure_substrate_not_below_0"
            ),
            models.CheckConstraint(condition=~Q(code=""), name="enclosure_has_code"),
            models.CheckConstraint(condition=ordered("celsius_min", "celsius_max"), name="enclosure_celsius_in_order"),
            models.CheckConstraint(
                condition=ordered("humidity_min", "humidity_max"), name="enclosure_humidity_in_order"
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        """The enclosure's own page."""
        return reverse("husbandry:enclosure-detail", args=[self.pk])


class Stay(Kept):
    """Which animal was in which enclosure, from when to when."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="stays")
    enclosure = models.ForeignKey(Enclosure, on_delete=models.PROTECT, related_name="stays")
    begins = models.DateField("since")
    ends = models.DateField("until", null=True, blank=True)
    companion = models.BooleanField("put together with another on purpose", default=False)

    objects = StayQuerySet.as_manager()

    class Meta:
        ordering = ["-begins", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(ends__isnull=True) | Q(ends__gte=F("begins")), name="stay_in_order"),
            models.UniqueConstraint(
                fields=["specimen"], condition=Q(ends__isnull=True), name="stay_one_place_at_a_time"
            ),
            models.UniqueConstraint(
                fields=["enclosure"],
                condition=Q(ends__isnull=True) & Q(companion=False),
                name="stay_one_solitary_animal",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.specimen_id} in {self.enclosure_id} since {self.begins}"
