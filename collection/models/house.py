"""What holds for the whole house: the currency of its prices."""

from django.db import models
from django.db.models import Q

from collection.models.base import Kept

ONLY_ROW = 1


class House(Kept):
    """One row. Prices are numbers; this says of what."""

    currency = models.CharField("prices are in", max_length=8, help_text="As you write it: EUR, €, Kč.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=ONLY_ROW), name="house_is_one"),
            models.CheckConstraint(condition=~Q(currency=""), name="house_has_currency"),
        ]

    def __str__(self) -> str:
        return self.currency

    @classmethod
    def money(cls) -> str:
        """The currency, or nothing while the keeper has not said it."""
        return cls.objects.filter(pk=ONLY_ROW).values_list("currency", flat=True).first() or ""
