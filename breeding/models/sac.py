"""Egg sacs, oothecae and broods, and the counts of what is in them."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from breeding import broodwords
from breeding.models.pairing import Pairing
from breeding.querysets import EggSacQuerySet
from collection.models import Specimen
from collection.models.base import Dated
from collection.stages import Group
from husbandry.models import Place


class EggSac(Dated):
    """A sac, laid on a day or within a range. A sac without a known pairing is allowed."""

    class Kind(models.TextChoices):
        """How the taxon keeps its eggs."""

        CARRIED = "carried", "carried"
        FIXED = "fixed", "fixed in the web"
        OOTHECA = "ootheca", "ootheca"
        SOIL = "soil", "eggs in soil"
        GUARDED = "guarded", "guarded eggs"
        LIVE = "live", "live birth"
        SINGLE = "single", "single eggs"

    class Outcome(models.TextChoices):
        """How it ended."""

        HATCHED = "hatched", "hatched"
        INFERTILE = "infertile", "infertile"
        EATEN = "eaten", "eaten"
        MOULD = "mould", "mould"
        DRIED = "dried", "dried"
        PARASITE = "parasite", "parasite"
        LOST = "lost", "lost"
        UNKNOWN = "unknown", "unknown"

    female = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="sacs")
    pairing = models.ForeignKey(Pairing, on_delete=models.SET_NULL, null=True, blank=True, related_name="sacs")
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.CARRIED.value)
    taken_on = models.DateField("taken from her on", null=True, blank=True)
    incubator = models.CharField(max_length=80, blank=True)
    celsius = models.FloatField(
        "kept at, °C", null=True, blank=True, help_text="Where no sensor stands; the stages are forecast from it."
    )
    place = models.ForeignKey(
        Place, on_delete=models.SET_NULL, null=True, blank=True, related_name="+", verbose_name="place of its sensor"
    )
    outcome = models.CharField(max_length=10, choices=Outcome.choices, blank=True)
    ended_on = models.DateField("ended on", null=True, blank=True)
    note = models.TextField(blank=True)

    objects = EggSacQuerySet.as_manager()

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(taken_on__isnull=True) | Q(taken_on__gte=F("earliest")), name="sac_taken_after_laying"
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("earliest")), name="sac_ended_after_laying"
            ),
            models.CheckConstraint(
                condition=Q(outcome="", ended_on__isnull=True) | (~Q(outcome="") & Q(ended_on__isnull=False)),
                name="sac_outcome_has_a_day",
            ),
            models.CheckConstraint(
                condition=Q(celsius__isnull=True) | Q(celsius__gte=-20, celsius__lte=60), name="sac_warmth_possible"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.word} of {self.female}, {self.when}"

    @property
    def stays_with_her(self) -> bool:
        """Whether she keeps it with her; an ootheca and single eggs she leaves."""
        return self.kind in {"carried", "fixed", "guarded", "live"}

    @property
    def word(self) -> str:
        """What the group of the female calls it."""
        return broodwords.words_of(Group(self.female.taxon.group)).brood

    def get_absolute_url(self) -> str:
        """The sac's own page."""
        return reverse("breeding:sac-detail", args=[self.pk])


class HeadCount(Dated):
    """What was in a sac on a day, by stage: alive, dead, and how it was counted."""

    class Stage(models.TextChoices):
        """Stages in the sac."""

        EGG = "egg", "egg"
        EWL = "ewl", "egg-with-legs"
        LARVA = "larva", "larva"
        SPIDERLING = "spiderling", "spiderling"
        YOUNG = "young", "free young"

    sac = models.ForeignKey(EggSac, on_delete=models.PROTECT, related_name="head_counts")
    stage = models.CharField(max_length=12, choices=Stage.choices)
    alive = models.PositiveIntegerField()
    dead = models.PositiveIntegerField("dead since the last count", default=0)
    cause = models.CharField("why they died", max_length=120, blank=True)
    how = models.CharField(
        max_length=10, choices=[("counted", "counted"), ("estimated", "estimated")], default="counted"
    )

    class Meta(Dated.Meta):
        ordering = ["earliest", "id"]

    def __str__(self) -> str:
        return f"{self.alive} {self.word}"

    @property
    def word(self) -> str:
        """What the group calls them."""
        labels = broodwords.words_of(Group(self.sac.female.taxon.group)).labels
        return labels.get(self.stage, self.get_stage_display())
