"""Kin: what is stored of an animal's descent, and males that may be the sire of a sac."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from collection.models import Specimen
from collection.models.base import Kept


class PossibleSire(Kept):
    """One of several males that may have sired an animal, and with it the rest of its sac."""

    young = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="possible_sires")
    male = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="possible_young")
    chance = models.FloatField(validators=[MinValueValidator(0.001), MaxValueValidator(1)])

    class Meta:
        ordering = ["-chance", "male_id"]
        constraints = [
            models.UniqueConstraint(fields=["young", "male"], name="possible_sire_once"),
            models.CheckConstraint(condition=Q(chance__gt=0, chance__lte=1), name="possible_sire_chance"),
            models.CheckConstraint(condition=~Q(young=F("male")), name="possible_sire_is_another"),
        ]

    def __str__(self) -> str:
        return f"{self.male} {self.chance * 100:.0f} %"


class Kin(models.Model):
    """What follows from an animal's descent. Derived: only `breeding.kin.refresh` writes it.

    `basis` says from which parents it was worked out; when they are still the same, nothing is worked out anew.
    """

    specimen = models.OneToOneField(Specimen, on_delete=models.CASCADE, primary_key=True, related_name="kin")
    inbreeding = models.FloatField(default=0)
    generations = models.FloatField(default=0)  # equivalent complete generations of known ancestors
    basis = models.CharField(max_length=400, blank=True)

    def __str__(self) -> str:
        return f"{self.specimen_id} F {self.inbreeding:.4f}"
