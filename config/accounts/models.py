"""What Django's own account does not say: until when a helper helps, and who is invited to."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.utils import timezone


class HelperTerm(models.Model):
    """The last day on which a helper can sign in."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="helper_term")
    until = models.DateField()

    def __str__(self) -> str:
        return f"{self.user} until {self.until}"


class InvitationQuerySet(models.QuerySet["Invitation"]):
    """Narrows invitations."""

    def open(self, now: datetime) -> InvitationQuerySet:
        """Those that somebody could still follow."""
        today = timezone.localdate(now)
        return self.filter(closed_at__isnull=True, opens_until__gt=now, until__gte=today)


class Invitation(models.Model):
    """A link that lets one helper in, once. Only the hash of its word is kept; a closed one stays, so that no repeat of
    the form that made it can open it again."""

    hashed = models.CharField(max_length=64, unique=True)
    name = models.CharField(max_length=150, blank=True)
    until = models.DateField()
    opens_until = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["opens_until", "pk"]

    def __str__(self) -> str:
        return f"Invitation of {self.name or 'a helper'} until {self.until}"
