"""Looks into a sac, who shares a brood, and which animals came out of it."""

from django.db import models
from django.db.models import Q

from breeding.models.sac import EggSac
from collection.models import Contact, Photo, Specimen
from collection.models.base import Dated, Kept


class SacCheck(Dated):
    """A look at a sac: how it was, how warm and how damp."""

    class Look(models.TextChoices):
        """What was seen."""

        FINE = "fine", "as it should be"
        TURNED = "turned", "turned"
        DENTED = "dented", "dented or dry"
        WET = "wet", "wet"
        MOULD = "mould", "mould or a smell"
        LEGS = "legs", "legs show"
        MOVING = "moving", "young move"

    sac = models.ForeignKey(EggSac, on_delete=models.PROTECT, related_name="checks")
    look = models.CharField("seen", max_length=10, choices=Look.choices, default=Look.FINE.value)
    celsius = models.FloatField("temperature, °C", null=True, blank=True)
    humidity = models.FloatField("relative humidity, %", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(celsius__isnull=True) | Q(celsius__gte=-20, celsius__lte=60),
                name="saccheck_warmth_possible",
            ),
            models.CheckConstraint(
                condition=Q(humidity__isnull=True) | Q(humidity__gte=0, humidity__lte=100),
                name="saccheck_humidity_possible",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_look_display()} {self.when}"


class BroodShare(Kept):
    """What somebody else gets of a brood, as agreed: a part of the count, delivered or still owed."""

    sac = models.ForeignKey(EggSac, on_delete=models.PROTECT, related_name="shares")
    to = models.ForeignKey(Contact, on_delete=models.PROTECT, related_name="brood_shares")
    percent = models.FloatField("share, %")
    odd_is_theirs = models.BooleanField("the odd animal is theirs", default=False)
    due_on = models.DateField("to be delivered by", null=True, blank=True)
    note = models.CharField("what was agreed", max_length=200, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["sac", "to"], name="broodshare_one_each"),
            models.CheckConstraint(condition=Q(percent__gt=0, percent__lte=100), name="broodshare_a_part_of_it"),
        ]

    def __str__(self) -> str:
        return f"{self.percent:g} % to {self.to}"


class BroodMember(Kept):
    """An animal, or a group of so many, that came out of a sac and was given a code."""

    sac = models.ForeignKey(EggSac, on_delete=models.PROTECT, related_name="members")
    specimen = models.OneToOneField(Specimen, on_delete=models.PROTECT, related_name="brood_member")
    number = models.PositiveIntegerField("heads", default=1)
    on = models.DateField("taken out on")

    class Meta:
        ordering = ["on", "id"]
        constraints = [models.CheckConstraint(condition=Q(number__gte=1), name="broodmember_holds_somebody")]

    def __str__(self) -> str:
        return f"{self.specimen} out of {self.sac}"
