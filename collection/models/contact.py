"""People animals come from and go to, and the boxes they come in."""

from django.db import models
from django.db.models import Q

from collection.models.base import Kept


class Contact(Kept):
    """A person or society the keeper deals with."""

    name = models.CharField(max_length=120, unique=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    vet = models.BooleanField("a vet who sees invertebrates", default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Arrival(Kept):
    """A box that came: counted against the list."""

    on = models.DateField("arrived on")
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="arrivals")
    expected = models.PositiveIntegerField("animals on the list", null=True, blank=True)
    alive = models.PositiveIntegerField("found alive", null=True, blank=True)
    dead = models.PositiveIntegerField("found dead", default=0)
    box_celsius = models.FloatField("temperature in the box, °C", null=True, blank=True)
    quarantine_days = models.PositiveSmallIntegerField("days in quarantine", null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-on"]
        constraints = [
            models.CheckConstraint(
                condition=Q(box_celsius__isnull=True) | (Q(box_celsius__gte=-40) & Q(box_celsius__lte=60)),
                name="arrival_box_plausible",
            ),
        ]

    def __str__(self) -> str:
        return f"arrival of {self.on}"
