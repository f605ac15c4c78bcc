"""Animals lent for breeding, with what was agreed."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from collection.models import Contact, Specimen
from collection.models.base import Kept


class Loan(Kept):
    """An animal of ours that is with somebody, or one of theirs that is here, and the terms."""

    class Way(models.TextChoices):
        """Whose animal it is."""

        OUT = "out", "lent out"
        IN = "in", "lent to us"

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="loans")
    way = models.CharField(max_length=3, choices=Way.choices)
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT, related_name="loans")
    since = models.DateField()
    due_back_on = models.DateField("to be back by", null=True, blank=True)
    percent = models.FloatField("the male’s owner gets, % of the young", null=True, blank=True)
    if_lost = models.CharField("if the animal is lost", max_length=200, blank=True)
    terms = models.TextField("what else was agreed", blank=True)
    ended_on = models.DateField("back since", null=True, blank=True)

    class Meta:
        ordering = ["-since", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["specimen"], condition=Q(ended_on__isnull=True), name="loan_one_open"),
            models.CheckConstraint(
                condition=Q(due_back_on__isnull=True) | Q(due_back_on__gte=F("since")), name="loan_due_after_its_start"
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("since")), name="loan_ended_after_its_start"
            ),
            models.CheckConstraint(
                condition=Q(percent__isnull=True) | Q(percent__gte=0, percent__lte=100), name="loan_share_is_a_part"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.specimen} {self.get_way_display()}, {self.contact}"

    def get_absolute_url(self) -> str:
        """The paper of the loan."""
        return reverse("breeding:loan-paper", args=[self.pk])
