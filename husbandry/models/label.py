"""Labels on paper: under which address phones reach the house, printers and their errors, and what was printed when."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from collection.models import Specimen
from collection.models.base import Kept, positive
from husbandry.labels import calibration, codes
from husbandry.labels.calibration import Calibration
from husbandry.labels.content import Kind
from husbandry.labels.papers import PAPERS
from husbandry.models.place import Enclosure

ONLY_ROW = 1


class LabelAddress(Kept):
    """The address that codes on labels carry. The keeper's to set: what a request calls us may be gone tomorrow."""

    address = models.CharField(max_length=120)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=ONLY_ROW), name="labeladdress_one_for_the_house")]

    def __str__(self) -> str:
        return self.address

    @classmethod
    def of_the_house(cls) -> str:
        """The address, or nothing while the keeper has not said it."""
        row = cls.objects.filter(pk=ONLY_ROW).first()
        return row.address if row else ""


class Printer(Kept):
    """A printer with what the keeper read off its calibration page; empty means: exactly as it should be."""

    name = models.CharField(max_length=40, unique=True)
    dpi = models.PositiveSmallIntegerField("dots per inch", choices=[(dpi, f"{dpi} dpi") for dpi in codes.RESOLUTIONS])
    paper = models.CharField(max_length=20)  # a key of PAPERS: the one that its page was printed on
    left_mm = models.FloatField("left edge to corner mark, mm", null=True, blank=True)
    top_mm = models.FloatField("top edge to corner mark, mm", null=True, blank=True)
    across_mm = models.FloatField("rule across, mm", null=True, blank=True)
    down_mm = models.FloatField("rule down, mm", null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=positive("across_mm", "down_mm"), name="printer_rules_above_0"),
            models.CheckConstraint(condition=Q(dpi__in=codes.RESOLUTIONS), name="printer_known_dpi"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The printer's own page."""
        return reverse("husbandry:printer-edit", args=[self.pk])

    @property
    def calibration(self) -> Calibration:
        """Its error across and down. Raises ValueError when what was read cannot be."""
        paper = PAPERS[self.paper]
        mark, (across, down) = calibration.mark(paper), calibration.rules(paper)
        return Calibration(
            calibration.axis(mark, across, self.left_mm, self.across_mm),
            calibration.axis(mark, down, self.top_mm, self.down_mm),
        )


class LabelPrint(Kept):
    """One print: when, by whom, what kind on which paper, and the address its codes carry."""

    at = models.DateTimeField(default=timezone.now, editable=False)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    kind = models.CharField(max_length=12, choices=[(kind.value, kind.label) for kind in Kind])
    address = models.CharField(max_length=120)
    paper = models.CharField(max_length=60)
    printer = models.ForeignKey(Printer, on_delete=models.PROTECT, null=True, blank=True, related_name="prints")
    setup = models.JSONField(default=dict)  # all that is needed to make the same PDF again

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.paper}"

    def get_absolute_url(self) -> str:
        """The page of this print, with its PDF."""
        return reverse("husbandry:label-print", args=[self.pk])


class PrintedLabel(models.Model):
    """One label of a print: of an animal or of an enclosure. Goes with its print, whose history tells of it."""

    run = models.ForeignKey(LabelPrint, on_delete=models.CASCADE, related_name="labels")
    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, null=True, related_name="printed_labels")
    enclosure = models.ForeignKey(Enclosure, on_delete=models.PROTECT, null=True, related_name="printed_labels")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(specimen__isnull=True) ^ Q(enclosure__isnull=True), name="printedlabel_of_one_thing"
            )
        ]

    def __str__(self) -> str:
        return str(self.subject)

    @property
    def subject(self) -> Any:
        """The animal or the enclosure."""
        return self.specimen or self.enclosure
