"""What was wrong with an animal and how it went; and quarantine with its checks."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from collection import health
from collection.health import Course, HealthKind, Outcome
from collection.models.base import Dated, Kept, positive
from collection.models.contact import Arrival, Contact
from collection.models.specimen import Specimen
from collection.querysets import HealthIssueQuerySet, QuarantineQuerySet


class HealthIssue(Dated):
    """Something wrong with one animal or group: opened on a day, followed, and closed with an outcome."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="health_issues")
    kind = models.CharField(max_length=12, choices=HealthKind.choices(), default=HealthKind.UNCLEAR.value)
    sure = models.BooleanField("seen for certain, more than a suspicion", default=False)
    seen = models.TextField("what was seen", blank=True)
    again_days = models.PositiveSmallIntegerField("look again every so many days", null=True, blank=True)
    vet = models.ForeignKey(
        Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="asked", verbose_name="vet who was asked"
    )
    closed_on = models.DateField(null=True, blank=True)
    outcome = models.CharField(max_length=10, choices=Outcome.choices(), blank=True)
    outcome_note = models.CharField("how it ended, in words", max_length=200, blank=True)

    objects = HealthIssueQuerySet.as_manager()

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        indexes = [
            models.Index(fields=["kind", "specimen"], name="healthissue_open", condition=Q(closed_on__isnull=True))
        ]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(condition=positive("again_days"), name="healthissue_rhythm_above_0"),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True) | Q(closed_on__gte=F("earliest")), name="healthissue_closed_after"
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True, outcome="") | (Q(closed_on__isnull=False) & ~Q(outcome="")),
                name="healthissue_closes_with_outcome",
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display() if self.sure or self.kind in PLAIN else f"{self.get_kind_display()}, suspected"

    def get_absolute_url(self) -> str:
        """The issue's own page."""
        return reverse("collection:health-detail", args=[self.pk])

    @property
    def facts(self) -> health.KindFacts:
        """What goes with its kind."""
        return health.KINDS[HealthKind(self.kind)]

    def next_look(self, entries: list[HealthEntry]) -> date:
        """When to look again, by its entries (newest first) and its rhythm."""
        last = entries[0] if entries else None
        looked = last.latest if last else self.latest
        return health.again_on(looked, last.again_on if last else None, HealthKind(self.kind), self.again_days)


# What one sees is seen; nobody suspects a lost leg.
PLAIN = {kind.value for kind in (HealthKind.UNCLEAR, HealthKind.LIMB, HealthKind.AGE, HealthKind.SHIPPING)}


class HealthEntry(Dated):
    """One look at an open issue: what was seen, measured and done."""

    issue = models.ForeignKey(HealthIssue, on_delete=models.PROTECT, related_name="entries")
    course = models.CharField("since the last time", max_length=6, choices=Course.choices(), blank=True)
    seen = models.TextField("what was seen or done", blank=True)
    mass_g = models.FloatField("mass, g", null=True, blank=True)
    abdomen_mm = models.FloatField("abdomen width, mm", null=True, blank=True)
    again_on = models.DateField("look again on", null=True, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-latest", "-id"]
        verbose_name_plural = "health entries"
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(condition=positive("mass_g", "abdomen_mm"), name="healthentry_above_0"),
            models.CheckConstraint(
                condition=Q(again_on__isnull=True) | Q(again_on__gte=F("latest")), name="healthentry_again_after"
            ),
        ]

    def __str__(self) -> str:
        return f"look of {self.when}"


class Quarantine(Kept):
    """An animal kept apart from the others, until a planned day or until it is ended."""

    class Ended(models.TextChoices):
        """Why it is over."""

        CLEAR = "clear", "all clear"
        STOPPED = "stopped", "ended early"
        GONE = "gone", "died or left"

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="quarantines")
    arrival = models.ForeignKey(Arrival, on_delete=models.PROTECT, null=True, blank=True, related_name="quarantines")
    begins = models.DateField("since")
    until = models.DateField()
    check_days = models.PositiveSmallIntegerField("look at it every so many days", default=health.CHECK_DAYS)
    note = models.CharField(max_length=200, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    ended = models.CharField("why it is over", max_length=8, choices=Ended.choices, blank=True)

    objects = QuarantineQuerySet.as_manager()

    class Meta:
        ordering = ["-begins", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(until__gte=F("begins")), name="quarantine_in_order"),
            models.CheckConstraint(condition=Q(check_days__gte=1), name="quarantine_rhythm_above_0"),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True, ended="") | (Q(ended_on__gte=F("begins")) & ~Q(ended="")),
                name="quarantine_ends_with_reason",
            ),
            models.UniqueConstraint(
                fields=["specimen"], condition=Q(ended_on__isnull=True), name="quarantine_one_open"
            ),
        ]

    def __str__(self) -> str:
        return f"quarantine since {self.begins}"


class QuarantineCheck(Dated):
    """One look at an animal in quarantine: what was looked at, and what that gave."""

    quarantine = models.ForeignKey(Quarantine, on_delete=models.PROTECT, related_name="checks")
    findings = models.JSONField(default=dict)  # a check to what it gave; what was not looked at is not in it
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-latest", "-id"]

    def __str__(self) -> str:
        return f"check of {self.when}"

    @property
    def in_words(self) -> str:
        """What it gave, in words."""
        doubts = health.doubtful(self.findings)
        looked = ", ".join(health.Check(name).label for name in self.findings) or "nothing in particular"
        return f"in doubt: {', '.join(doubts)}" if doubts else f"clear: {looked}"
