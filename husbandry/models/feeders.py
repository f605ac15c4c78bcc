"""Feeders: what is kept of each kind and size, and the book of it."""

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from collection.models import Contact, Specimen
from collection.models.base import Kept, positive
from husbandry.feeder_ledger import EntryKind

WRITTEN = [kind for kind in EntryKind if kind is not EntryKind.FED]  # meals are entries of their own


class FeederStock(Kept):
    """A feeder of one kind and size, as it stands in its tub. How many there are is worked out from its book."""

    kind = models.CharField(max_length=40)
    mm = models.FloatField("length, mm", null=True, blank=True)
    culture = models.ForeignKey(
        Specimen,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="feeder_stocks",
        verbose_name="bred from",
    )
    kept = models.BooleanField("still kept", default=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["kind", "mm"]
        verbose_name_plural = "feeder stock"
        constraints = [
            models.UniqueConstraint(fields=["kind", "mm"], name="feederstock_once"),
            models.UniqueConstraint(
                fields=["kind"], condition=Q(mm__isnull=True), name="feederstock_once_without_size"
            ),
            models.CheckConstraint(condition=~Q(kind=""), name="feederstock_has_kind"),
            models.CheckConstraint(condition=positive("mm"), name="feederstock_size_above_0"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.mm:g} mm" if self.mm else self.kind

    def get_absolute_url(self) -> str:
        """The feeder's own page, with its book."""
        return reverse("husbandry:feeder-detail", args=[self.pk])


class FeederEntry(Kept):
    """One entry in the book of a feeder: a count, a purchase, what a culture gave, what died or was given away."""

    class Method(models.TextChoices):
        """How a count was made."""

        COUNTED = "counted", "counted"
        SAMPLED = "sampled", "sampled: counted in a part, and multiplied"
        GUESSED = "guessed", "guessed"

    stock = models.ForeignKey(FeederStock, on_delete=models.PROTECT, related_name="entries")
    on = models.DateField("day")
    kind = models.CharField(max_length=10, choices=[(k.value, k.label) for k in WRITTEN])
    number = models.PositiveIntegerField("how many")
    method = models.CharField("how it was found", max_length=10, choices=Method.choices, blank=True)
    cost = models.DecimalField("cost of all of them", max_digits=8, decimal_places=2, null=True, blank=True)
    contact = models.ForeignKey(
        Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="from"
    )
    note = models.CharField(max_length=120, blank=True)
    logged_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-on", "-logged_at", "-id"]
        verbose_name_plural = "feeder entries"
        indexes = [models.Index(fields=["stock", "-on"], name="feederentry_of_stock")]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind=EntryKind.COUNTED.value) | Q(number__gte=1), name="feederentry_moves_something"
            ),
            models.CheckConstraint(
                condition=Q(method="") | Q(kind=EntryKind.COUNTED.value), name="feederentry_method_of_a_count"
            ),
            models.CheckConstraint(
                condition=Q(cost__isnull=True) | Q(kind=EntryKind.BOUGHT.value, cost__gte=0),
                name="feederentry_cost_of_a_purchase",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.number}"
