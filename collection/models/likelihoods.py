"""The keeper's own likelihoods of sexing, where they differ from the shipped ones."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import models
from django.db.models import Q

from collection.models.base import Kept
from collection.sexing import DEFAULT, Likelihoods

CHANCES = [name for name in Likelihoods._fields if name != "why"]


class SexLikelihood(Kept):
    """One row of the table as the keeper changed it. A row that is not here is the shipped one."""

    row = models.CharField(max_length=40, unique=True)
    female_if_female = models.FloatField()
    female_if_male = models.FloatField()
    male_if_male = models.FloatField()
    male_if_female = models.FloatField()
    unclear_if_female = models.FloatField()
    unclear_if_male = models.FloatField()
    why = models.CharField("why, and where it comes from", max_length=160)

    class Meta:
        ordering = ["row"]
        constraints = [
            models.CheckConstraint(
                condition=Q(**{f"{name}__gt": 0 for name in CHANCES}) & Q(**{f"{name}__lt": 1 for name in CHANCES}),
                name="sexlikelihood_never_certain",
            )
        ]

    def __str__(self) -> str:
        return self.row

    @property
    def likelihoods(self) -> Likelihoods:
        """The row as it is weighed."""
        return Likelihoods(**{name: getattr(self, name) for name in CHANCES}, why=self.why)


def likelihoods_in_force() -> Mapping[str, Likelihoods]:
    """The shipped table with the keeper's rows in place of its own."""
    return {**DEFAULT, **{row.row: row.likelihoods for row in SexLikelihood.objects.filter(row__in=list(DEFAULT))}}
