"""Feeding, rhythms, holds and upkeep."""

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from collection.models import Specimen, Taxon
from collection.models.base import Kept, positive
from collection.stages import ORDER as FED_STAGES
from collection.stages import Stage
from collection.wording import every
from husbandry.models.place import Enclosure, Place
from husbandry.rhythm import HoldKind, Outcome
from husbandry.rhythm_choice import MONTHS, Own, Scope, say_season

SEASON = [(0, "all year"), *enumerate(MONTHS, start=1)]
USED = (Outcome.TAKEN.value, Outcome.LEFT.value)  # prey that is gone from its tub; what is refused goes back into it


class Feeding(Kept):
    """One offer of food and what became of it. The same client-made key twice is one feeding."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="feedings")
    on = models.DateField()
    prey = models.CharField(max_length=40, blank=True)
    prey_mm = models.FloatField("prey size, mm", null=True, blank=True)
    number = models.PositiveSmallIntegerField(default=1)
    outcome = models.CharField(max_length=10, choices=[(o.value, o.label) for o in Outcome])
    note = models.CharField(max_length=200, blank=True)
    key = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    logged_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-on", "-id"]
        indexes = [
            models.Index(fields=["specimen", "-on", "-id"], name="feeding_of_animal"),  # last meals first
            models.Index(fields=["specimen", "outcome", "on"], name="feeding_last_taken"),  # the last meal taken
            models.Index(  # what was used of each feeder, read from the index alone
                fields=["on", "outcome", "prey", "prey_mm", "number"], name="feeding_used"
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=positive("prey_mm"), name="feeding_prey_above_0"),
            models.CheckConstraint(condition=Q(number__gte=1), name="feeding_offers_something"),
        ]

    def __str__(self) -> str:
        return f"{self.outcome} {self.on}"


class FeedRhythm(Kept):
    """The keeper's own feeding interval, in force from a day on. Zero days means: do not ask.

    It is for one animal, or for all in a place or of a taxon; then perhaps for one stage only. Which of several goes
    first, `husbandry.rhythm_choice` says. A season runs from a month to a month each year; 0 and 0 are the whole year.
    """

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, null=True, blank=True, related_name="feed_rhythms")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="feed_rhythms")
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, null=True, blank=True, related_name="feed_rhythms")
    stage = models.CharField(
        "only for", max_length=15, choices=[(s.value, s.label) for s in FED_STAGES], default="", blank=True
    )
    season_from = models.PositiveSmallIntegerField("season from", choices=SEASON, default=0)
    season_to = models.PositiveSmallIntegerField("season to", choices=SEASON, default=0)
    days = models.PositiveSmallIntegerField("every so many days")
    since = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-since", "-id"]
        constraints = [
            *(
                models.UniqueConstraint(
                    fields=[name, "since", "stage", "season_from"],
                    condition=Q(**{f"{name}__isnull": False}),
                    name=f"feedrhythm_one_a_day_of_{name}",
                )
                for name in ("specimen", "place", "taxon")
            ),
            models.CheckConstraint(
                condition=Q(specimen__isnull=False, place__isnull=True, taxon__isnull=True)
                | Q(specimen__isnull=True, place__isnull=False, taxon__isnull=True)
                | Q(specimen__isnull=True, place__isnull=True, taxon__isnull=False),
                name="feedrhythm_of_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(season_from=0, season_to=0) | Q(season_from__range=(1, 12), season_to__range=(1, 12)),
                name="feedrhythm_season_of_months",
            ),
            models.CheckConstraint(condition=Q(days__lte=400), name="feedrhythm_plausible"),
        ]

    def __str__(self) -> str:
        return every(self.days) if self.days else "not asked for"

    @property
    def scope(self) -> Scope:
        """What it was set for."""
        if self.specimen_id is not None:
            return Scope.ANIMAL
        return Scope.PLACE if self.place_id is not None else Scope.TAXON

    @property
    def of(self) -> Specimen | Place | Taxon:
        """The animal, place or taxon it was set for."""
        found = self.specimen or self.place or self.taxon
        assert found is not None  # the database keeps it so
        return found

    @property
    def season(self) -> str:
        """Its season in words; nothing for the whole year."""
        return say_season((self.season_from, self.season_to) if self.season_from else None)

    def as_own(self) -> Own:
        """The row as the plain value that the choice of a rhythm is made from."""
        return Own(
            scope=self.scope,
            days=self.days,
            since=self.since,
            of="" if self.specimen_id is not None else str(self.of),
            reason=self.reason,
            stage=Stage(self.stage) if self.stage else None,
            months=(self.season_from, self.season_to) if self.season_from else None,
            near=len(self.place.walk_key) if self.place else 0,
        )


class Hold(Kept):
    """Feeding stopped by the keeper, from when to when and why. Derived holds come from the registry."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="holds")
    kind = models.CharField(max_length=12, choices=[(k.value, k.label) for k in HoldKind])
    begins = models.DateField("from")
    ends = models.DateField("until", null=True, blank=True)
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-begins", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(ends__isnull=True) | Q(ends__gt=F("begins")), name="hold_in_order")
        ]

    def __str__(self) -> str:
        return f"{self.kind} since {self.begins}"


class Upkeep(Kept):
    """Something done to an enclosure."""

    class Kind(models.TextChoices):
        """What was done."""

        WATER = "water", "water"
        MISTING = "misting", "misting"
        CLEANING = "cleaning", "cleaning"
        SUBSTRATE = "substrate", "substrate changed"
        CHECK = "check", "looked for mould and mites"

    enclosure = models.ForeignKey(Enclosure, on_delete=models.PROTECT, related_name="upkeep")
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.WATER.value)
    on = models.DateField()
    note = models.CharField(max_length=200, blank=True)
    logged_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-on", "-id"]
        verbose_name_plural = "upkeep"
        indexes = [models.Index(fields=["enclosure", "kind", "-on"], name="upkeep_last")]  # the last of a kind

    def __str__(self) -> str:
        return f"{self.kind} {self.on}"


class UpkeepRhythm(Kept):
    """How often something is done: for one enclosure, or for all that stand in a place. The enclosure's own wins."""

    enclosure = models.ForeignKey(
        Enclosure, on_delete=models.PROTECT, null=True, blank=True, related_name="upkeep_rhythms"
    )
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="upkeep_rhythms")
    kind = models.CharField(
        max_length=10, choices=[choice for choice in Upkeep.Kind.choices if choice[0] != Upkeep.Kind.WATER.value]
    )
    days = models.PositiveSmallIntegerField("every so many days", help_text="0 means: not here.")
    since = models.DateField("counted from")

    class Meta:
        ordering = ["kind", "id"]
        constraints = [
            models.UniqueConstraint(fields=["enclosure", "kind"], name="upkeeprhythm_one_an_enclosure"),
            models.UniqueConstraint(fields=["place", "kind"], name="upkeeprhythm_one_a_place"),
            models.CheckConstraint(
                condition=Q(enclosure__isnull=True, place__isnull=False)
                | Q(enclosure__isnull=False, place__isnull=True),
                name="upkeeprhythm_of_one_thing",
            ),
            models.CheckConstraint(condition=Q(days__lte=730), name="upkeeprhythm_plausible"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {every(self.days)}" if self.days else f"no {self.get_kind_display()}"
