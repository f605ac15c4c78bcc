"""Named, chainable reads of the bottom app."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import Q

from collection.health import CONTAGIOUS

if TYPE_CHECKING:
    from collection.models import (  # noqa: F401 - for the types only
        Due,
        Forecast,
        ForecastWidth,
        HealthIssue,
        Photo,
        Quarantine,
        Specimen,
        Taxon,
    )

HERE = ("here", "loan_in")
AWAY = ("loan_out", "passed_on", "dead", "missing")


class TaxonQuerySet(models.QuerySet["Taxon"]):
    """Reads of taxa."""

    def named(self, text: str) -> TaxonQuerySet:
        """Taxa whose name, common name or other name contains the text."""
        return self.filter(
            Q(name__icontains=text) | Q(common_name__icontains=text) | Q(other_names__name__icontains=text)
        ).distinct()


class SpecimenQuerySet(models.QuerySet["Specimen"]):
    """Reads of specimens."""

    def here(self) -> SpecimenQuerySet:
        """Alive and in the house: what the keeper looks after."""
        return self.filter(standing__status__in=HERE)

    def for_display(self) -> SpecimenQuerySet:
        """With what a row or a card needs; the sources of a taxon's figures are long and stay behind."""
        return self.select_related("taxon", "standing").defer("taxon__sources", "taxon__seeded")

    def found_by(self, text: str) -> SpecimenQuerySet:
        """Code, own name or any name of the taxon contains the text, or it is the word of their clutch."""
        taxa: Any = self.model._meta.get_field("taxon").related_model
        return self.filter(
            Q(code__icontains=text)
            | Q(clutch__iexact=text)
            | Q(name__icontains=text)
            | Q(taxon__name__icontains=text)
            | Q(taxon__common_name__icontains=text)
            | Q(taxon__in=taxa.objects.filter(other_names__name__icontains=text).values("pk"))
        )


class DueQuerySet(models.QuerySet["Due"]):
    """Reads of stored due dates."""

    def wanted(self, today: date) -> DueQuerySet:
        """What asks for attention on this day, held or not, and has not run out."""
        return self.filter(wanted_on__lte=today).filter(Q(ends_on__isnull=True) | Q(ends_on__gte=today))

    def due(self, today: date) -> DueQuerySet:
        """Wanted and not held."""
        return self.wanted(today).filter(due_on__lte=today)

    def of(self, *kinds: str) -> DueQuerySet:
        """Of the named kinds."""
        return self.filter(kind__in=kinds)


class ForecastQuerySet(models.QuerySet["Forecast"]):
    """Reads of forecasts that were shown."""

    def closed(self, today: date) -> ForecastQuerySet:
        """Those whose window is over: only they are scored, or what comes early would count too much."""
        return self.filter(closes_on__lt=today)


class ForecastWidthQuerySet(models.QuerySet["ForecastWidth"]):
    """Reads of how much windows are widened."""

    def factor(self, kind: str) -> float:
        """By how much the windows of this kind are widened: 1 for as the model has them."""
        return self.factors().get(kind, 1.0)

    def factors(self) -> dict[str, float]:
        """By how much the windows of each kind are widened; a kind that is not here is as the model has it."""
        return dict(self.values_list("kind", "factor"))


class HealthIssueQuerySet(models.QuerySet["HealthIssue"]):
    """Reads of what is wrong."""

    def open(self) -> HealthIssueQuerySet:
        """Not closed, of an animal that is still in the house.

        Said as an exclusion, because SQLite otherwise goes through all animals that are here to find the few issues.
        """
        return self.filter(closed_on__isnull=True).exclude(specimen__standing__status__in=AWAY)

    def contagious(self) -> HealthIssueQuerySet:
        """Of a kind that may spread."""
        return self.filter(kind__in=CONTAGIOUS)


class QuarantineQuerySet(models.QuerySet["Quarantine"]):
    """Reads of quarantines."""

    def open(self) -> QuarantineQuerySet:
        """Still kept apart."""
        return self.filter(ended_on__isnull=True)


class PhotoQuerySet(models.QuerySet["Photo"]):
    """Reads of pictures."""

    def newer_than(self, photo: Photo) -> PhotoQuerySet:
        """Those after it, the next one first."""
        later = Q(earliest__gt=photo.earliest) | Q(earliest=photo.earliest, pk__gt=photo.pk)
        return self.filter(later).order_by("earliest", "pk")

    def older_than(self, photo: Photo) -> PhotoQuerySet:
        """Those before it, the next one first."""
        earlier = Q(earliest__lt=photo.earliest) | Q(earliest=photo.earliest, pk__lt=photo.pk)
        return self.filter(earlier).order_by("-earliest", "-pk")
