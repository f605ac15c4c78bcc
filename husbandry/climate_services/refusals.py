"""Counting what was refused: one row a cause, however many there are."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db.models import F

from husbandry.intake import Reason
from husbandry.models import Refusal

Cause = tuple[int | None, int | None, Reason]  # sensor, device, reason


def count(causes: Mapping[Cause, tuple[int, str]], now: datetime) -> None:
    """Add to the counts: so many of each cause, and the last sentence said."""
    for (sensor, device, reason), (number, sentence) in causes.items():
        key = f"{sensor or 0}:{device or 0}:{reason.value}"
        row, _ = Refusal.objects.get_or_create(
            key=key,
            defaults={
                "sensor_id": sensor, "device_id": device, "reason": reason.value, "first_at": now, "last_at": now,
            },
        )  # fmt: skip
        Refusal.objects.filter(pk=row.pk).update(count=F("count") + number, last_at=now, said=sentence[:200])
