"""Writes of the ratios that signs are weighed by. Outlooks are worked out when shown, so they follow."""

from __future__ import annotations

from django.db import transaction

from breeding.models import SignRatio
from breeding.signs import WORDS, SignWeight
from collection import receipts


def set_ratio(sign: str, weight: SignWeight) -> None:
    """Put the keeper's own ratio in place of a row."""
    with transaction.atomic():
        SignRatio.objects.update_or_create(sign=sign, defaults={"ratio": weight.ratio, "why": weight.why})
        receipts.note(f"Changed how a sign is weighed: {WORDS[sign]}")


def reset_ratio(sign: str) -> None:
    """The shipped ratio of a row again."""
    with transaction.atomic():
        for own in SignRatio.objects.filter(sign=sign):
            own.delete()
        receipts.note(f"Reset how a sign is weighed: {WORDS[sign]}")
