"""What every kept record has in common: its history, and dates of honest precision."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from collection.dates import FuzzyDate


class Kept(models.Model):
    """A record whose every change keeps who made it, when, and what stood there before."""

    history = HistoricalRecords(inherit=True)

    class Meta:
        abstract = True


class Dated(Kept):
    """A record of something that happened on a day, or within a range when the keeper does not know better.

    `latest` equals `earliest` for an exact day; a whole month or year is a range too (see `FuzzyDate`).
    """

    earliest = models.DateField("date")
    latest = models.DateField("latest date", blank=True)

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                condition=Q(latest__gte=F("earliest")), name="%(app_label)s_%(class)s_dates_in_order"
            )
        ]

    def save(self, *args: Any, **kwargs: Any) -> None:
        """An exact day needs to be given once only."""
        if self.latest is None:
            self.latest = self.earliest
        super().save(*args, **kwargs)

    @property
    def when(self) -> FuzzyDate:
        """The day or range, with its precision."""
        return FuzzyDate(self.earliest, self.latest)


def fuzzy(earliest: date | None, latest: date | None) -> FuzzyDate | None:
    """The pair of columns as one value, or None when the keeper knows nothing."""
    if earliest is None:
        return None
    return FuzzyDate(earliest, latest or earliest)


def positive(*fields: str) -> Q:
    """Each of the fields is empty or above zero."""
    condition = Q()
    for field in fields:
        condition &= Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0})
    return condition


def any_given(*fields: str) -> Q:
    """At least one of the fields is given."""
    condition = Q()
    for field in fields:
        condition |= Q(**{f"{field}__isnull": False})
    return condition


def ordered(low: str, high: str) -> Q:
    """Either end is open, or the lower one lies below the upper one."""
    return Q(**{f"{low}__isnull": True}) | Q(**{f"{high}__isnull": True}) | Q(**{f"{low}__lt": F(high)})
