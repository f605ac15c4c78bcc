"""Sperm webs, pairings with their meetings, and the signs seen on the female."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from breeding.querysets import PairingQuerySet
from collection.models import Specimen
from collection.models.base import Dated, Kept


class SpermWeb(Dated):
    """A male's sperm web: he is charged and can be paired."""

    male = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="sperm_webs")
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"sperm web {self.when}"


class Pairing(Kept):
    """A female and a male, planned or brought together in one or more meetings."""

    female = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="pairings_as_female")
    male = models.ForeignKey(Specimen, on_delete=models.PROTECT, null=True, blank=True, related_name="pairings_as_male")
    planned_for = models.DateField(null=True, blank=True)
    cross_reason = models.CharField("why animals of two taxa are paired", max_length=200, blank=True)
    risk_note = models.TextField("what to watch for", blank=True)
    note = models.TextField(blank=True)

    objects = PairingQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(male__isnull=True) | ~Q(male=F("female")), name="pairing_takes_two")
        ]

    def __str__(self) -> str:
        return f"{self.female} × {self.male or 'unknown male'}"

    def get_absolute_url(self) -> str:
        """The pairing's own page."""
        return reverse("breeding:pairing-detail", args=[self.pk])


class Meeting(Dated):
    """One meeting of a pairing: what was seen, and how it ended."""

    class Ending(models.TextChoices):
        """How a meeting ended."""

        UNKNOWN = "unknown", "not seen"
        PEACE = "peace", "parted in peace"
        ATTACK = "attack", "she attacked, both live"
        MALE_LOST = "male_lost", "male lost"
        FEMALE_LOST = "female_lost", "female lost"
        LEFT = "left", "left together"

    pairing = models.ForeignKey(Pairing, on_delete=models.PROTECT, related_name="meetings")
    begins_at = models.TimeField("began", null=True, blank=True)
    ends_at = models.TimeField("ended", null=True, blank=True)
    drumming = models.BooleanField("drumming", null=True, blank=True)
    insertions_left = models.PositiveSmallIntegerField("insertions seen, left", null=True, blank=True)
    insertions_right = models.PositiveSmallIntegerField("insertions seen, right", null=True, blank=True)
    ending = models.CharField(max_length=12, choices=Ending.choices, default=Ending.UNKNOWN.value)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Dated.Meta):
        ordering = ["earliest", "id"]

    def __str__(self) -> str:
        return f"meeting {self.when}"

    @property
    def insertions(self) -> int | None:
        """Insertions seen, both sides; None when nobody could see."""
        seen = [n for n in (self.insertions_left, self.insertions_right) if n is not None]
        return sum(seen) if seen else None


class Sign(Dated):
    """A sign seen on a paired female."""

    class Kind(models.TextChoices):
        """What was seen."""

        FATTENING = "fattening", "fattening"
        WEBBING = "webbing", "heavy webbing"
        CLOSED = "closed", "burrow or retreat closed"
        REFUSING = "refusing", "refusing food"
        DIGGING = "digging", "digging"
        BALD_DARK = "bald_dark", "bald patch darkens"
        NOTHING = "nothing", "nothing new"

    female = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="signs")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"{self.kind} {self.when}"
