"""What the program itself keeps: stored due dates, and receipts that make every form count once."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from collection.models.specimen import Specimen
from collection.querysets import DueQuerySet


class Due(models.Model):
    """A stored due date. Derived: only `collection.dues.refresh` writes it.

    `wanted_on` is the day the work would fall due, `due_on` the day after every hold (NULL while an open hold stops
    the clock). `facts` are plain values from which the kind's sentence is said for any day.
    """

    specimen = models.ForeignKey(Specimen, on_delete=models.CASCADE, related_name="dues")
    kind = models.CharField(max_length=20)
    wanted_on = models.DateField()
    due_on = models.DateField(null=True)
    ends_on = models.DateField(null=True)  # no longer asked for after this day, for example a molt window
    facts = models.JSONField(default=dict)

    objects = DueQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["specimen", "kind"], name="due_one_of_a_kind"),
            models.CheckConstraint(
                condition=Q(due_on__isnull=True) | Q(due_on__gte=models.F("wanted_on")), name="due_holds_only_delay"
            ),
        ]
        # The dashboard's counts and its order are answered from this index alone.
        indexes = [models.Index(fields=["kind", "wanted_on", "due_on", "ends_on", "specimen"], name="due_wanted")]

    def __str__(self) -> str:
        return f"{self.kind} {self.due_on}"


class Receipt(models.Model):
    """One accepted form. Its key is unique, so a form that arrives twice is answered twice and done once."""

    key = models.CharField(max_length=40, unique=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="receipts")
    at = models.DateTimeField()
    label = models.CharField(max_length=200, blank=True)
    location = models.CharField(max_length=500, blank=True)
    entries = models.JSONField(default=list)  # [{model, pk, op, history}] in the order written
    specimens = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-at"]
        indexes = [models.Index(fields=["user", "-at"], name="receipt_user_at")]  # "your last entries"

    def __str__(self) -> str:
        return self.label or self.key
