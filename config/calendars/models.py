"""Who reads the calendar by which address, and what it has said so far."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models


class CalendarAddress(models.Model):
    """The one subscription address of a person. Only the hash of its word is kept."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_address")
    hashed = models.CharField(max_length=64, unique=True)
    since = models.DateTimeField()
    read_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"Calendar of {self.user}"


class CalendarDay(models.Model):
    """What is due of one kind on one day, as the calendars were told.

    Kept because a calendar must be told, under the same id and with a higher sequence, that something is done.
    """

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=20)
    day = models.DateField()
    summary = models.CharField(max_length=200)
    details = models.TextField(blank=True)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()
    cancelled = models.BooleanField(default=False)

    class Meta:
        ordering = ["day", "kind"]
        constraints = [models.UniqueConstraint(fields=["kind", "day"], name="calendarday_one_a_kind")]

    def __str__(self) -> str:
        return f"{self.day}: {self.summary}"
