"""Molts, and the signs that one is coming."""

from django.db import models
from django.db.models import Q

from collection.instars import Convention, step_of
from collection.instars import label as instar_label
from collection.models.base import Dated, positive
from collection.models.specimen import Specimen
from collection.premolt import PremoltSign
from collection.skins import BODY, CARAPACE, LEG_SPAN, Skin
from collection.stages import Group


class Numbering(models.TextChoices):
    """How instars are counted. The convention is stored with the number."""

    I = "i", "i-number (2i feeds first)"  # noqa: E741 - the trade writes it so
    L = "L", "L number (L1 feeds first)"
    F = "F", "FH number (FH1 feeds first)"
    S = "S", "nymph number (scientific)"
    COUNT = "n", "molts counted here"


class Went(models.TextChoices):
    """How the animal came through a molt."""

    FINE = "fine", "fine"
    LEGS = "legs", "lost a leg or more"
    STUCK = "stuck", "got stuck, came free"
    DEFORMED = "deformed", "deformed"
    DIED = "died", "died in it"


class Molt(Dated):
    """A molt, on a day or found later within a range; of a group, how many molted to this instar."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="molts")
    animals = models.PositiveIntegerField("how many molted", null=True, blank=True)
    instar = models.PositiveSmallIntegerField("instar after it", null=True, blank=True)
    numbering = models.CharField(max_length=1, choices=Numbering.choices, default=Numbering.I.value)
    carapace_mm = models.FloatField("carapace length, mm", null=True, blank=True)
    leg_span_mm = models.FloatField("leg span, mm", null=True, blank=True)
    body_mm = models.FloatField("body length, mm", null=True, blank=True)
    on_skin = models.BooleanField("measured on the shed skin", default=False)
    matured = models.BooleanField("a male's molt to maturity", default=False)
    went = models.CharField("how it went", max_length=10, choices=Went.choices, blank=True)
    condition = models.CharField("condition of the animal", max_length=120, blank=True)
    exuvia_kept = models.BooleanField(null=True, blank=True)
    exuvia_place = models.CharField("where the exuvia is kept", max_length=60, blank=True)
    exuvia_note = models.CharField("notes on the exuvia", max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        indexes = [models.Index(fields=["earliest"], name="molt_day")]  # what happened this month
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=positive("carapace_mm", "leg_span_mm", "body_mm", "instar", "animals"),
                name="molt_sizes_above_0",
            ),
            models.UniqueConstraint(
                fields=["specimen", "earliest", "latest"], condition=Q(animals__isnull=True), name="molt_once_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"molt of {self.when}"

    def instar_said(self, group: Group) -> str:
        """The instar as its convention writes it in this group; empty where none was given."""
        return "" if self.instar is None else instar_label(group, self.instar, Convention(self.numbering))

    def step(self, group: Group) -> int | None:
        """The instar as a step in the group's own order; None for a mere count and where none was given."""
        return None if self.instar is None else step_of(group, self.instar, Convention(self.numbering))

    def as_skin(self, group: Group) -> Skin:
        """The plain value that growth is worked out from."""
        sizes = {CARAPACE: self.carapace_mm, LEG_SPAN: self.leg_span_mm, BODY: self.body_mm}
        return Skin(
            on=self.when.middle,
            step=self.step(group),
            sizes={name: size for name, size in sizes.items() if size is not None},
            on_skin=self.on_skin,
            matured=self.matured,
            legs_lost=self.went == Went.LEGS.value,
            kept=self.exuvia_kept,
            record=self.pk,
        )


class MoltSign(Dated):
    """A sign of a coming molt, seen on a day."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="molt_signs")
    sign = models.CharField("seen", max_length=12, choices=[(s.value, s.label) for s in PremoltSign])
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"{PremoltSign(self.sign).label}, {self.when}"
