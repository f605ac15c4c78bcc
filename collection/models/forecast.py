"""Forecasts that were shown, and by how much a kind of them had to be widened."""

from django.db import models
from django.db.models import F, Q

from collection.models.specimen import Specimen
from collection.querysets import ForecastQuerySet, ForecastWidthQuerySet


class Forecast(models.Model):
    """What was first said of one wait, and what came of it. Only `collection.forecasts` writes it.

    `quantiles` are days after `origin_on` at the levels of `collection.scoring.LEVELS`, nothing having come by
    `made_on`. `origin` is the key of the record the wait is counted from: a molt, a meeting. When it is settled,
    `place` says where the day fell in the forecast as a normal score, `off_days` how far from the middle it was.
    """

    class Outcome(models.TextChoices):
        """How a wait ended; empty while it runs."""

        CAME = "came", "came"
        INSTEAD = "instead", "something else came"
        ENDED = "ended", "died or left before"

    specimen = models.ForeignKey(Specimen, on_delete=models.CASCADE, related_name="forecasts")
    kind = models.CharField(max_length=20)
    origin = models.PositiveBigIntegerField()
    origin_on = models.DateField()
    made_on = models.DateField()
    closes_on = models.DateField()  # the end of the 90 % window: scored after it, whatever came before
    quantiles = models.JSONField()
    chance = models.FloatField(null=True, blank=True)  # that it comes at all, where it may not
    widened = models.FloatField(default=1.0)
    outcome = models.CharField(max_length=10, choices=Outcome.choices, blank=True)
    settled_on = models.DateField(null=True, blank=True)
    place = models.FloatField(null=True, blank=True)
    off_days = models.FloatField(null=True, blank=True)
    crps_days = models.FloatField(null=True, blank=True)
    early_loss = models.FloatField(null=True, blank=True)  # pinball loss of the 10 % point, in days
    late_loss = models.FloatField(null=True, blank=True)  # of the 90 % point

    objects = ForecastQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["specimen", "kind", "origin"], name="forecast_one_a_wait"),
            models.CheckConstraint(condition=Q(made_on__gte=F("origin_on")), name="forecast_made_in_its_wait"),
            models.CheckConstraint(
                condition=Q(outcome="", settled_on__isnull=True)
                | (~Q(outcome="") & Q(settled_on__gt=F("made_on"), place__isnull=False)),
                name="forecast_made_before_its_event",
            ),
            models.CheckConstraint(
                condition=Q(chance__isnull=True) | Q(chance__gte=0, chance__lte=1), name="forecast_chance_to_1"
            ),
            models.CheckConstraint(condition=Q(widened__gte=1), name="forecast_widened_from_1"),
        ]
        indexes = [models.Index(fields=["kind", "closes_on", "outcome"], name="forecast_closed")]

    def __str__(self) -> str:
        return f"{self.kind} of {self.specimen_id}, made {self.made_on}"


class ForecastWidth(models.Model):
    """By how much the windows of a kind are widened, because those shown held too little. Derived; see `review`."""

    kind = models.CharField(max_length=20, primary_key=True)
    factor = models.FloatField()
    held = models.PositiveIntegerField()  # of the 80 % windows as the model alone would have drawn them
    forecasts = models.PositiveIntegerField()

    objects = ForecastWidthQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(factor__gte=1), name="forecastwidth_from_1"),
            models.CheckConstraint(condition=Q(held__lte=F("forecasts")), name="forecastwidth_held_of_all"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} × {self.factor:g}"
