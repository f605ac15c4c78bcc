"""The keeper's own likelihood ratios of signs, where they differ from the shipped ones."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import models
from django.db.models import Q

from breeding.signs import DEFAULT, LEAST, MOST, SignWeight
from collection.models.base import Kept


class SignRatio(Kept):
    """One row of the table as the keeper changed it. A row that is not here is the shipped one."""

    sign = models.CharField(max_length=12, unique=True)
    ratio = models.FloatField()
    why = models.CharField("why, and where it comes from", max_length=160)

    class Meta:
        ordering = ["sign"]
        constraints = [
            models.CheckConstraint(condition=Q(ratio__gte=LEAST, ratio__lte=MOST), name="signratio_never_proof")
        ]

    def __str__(self) -> str:
        return self.sign


def weights_in_force() -> Mapping[str, SignWeight]:
    """The shipped table with the keeper's rows in place of its own."""
    own = SignRatio.objects.filter(sign__in=list(DEFAULT))
    return {**DEFAULT, **{row.sign: SignWeight(row.ratio, row.why) for row in own}}
