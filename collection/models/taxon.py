"""Taxa: names, synonyms, listings, and the defaults that care and breeding start from."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from collection.models.base import Kept
from collection.querysets import TaxonQuerySet
from collection.stages import Group, Lifestyle


class Rank(models.TextChoices):
    """How firmly the name is meant."""

    SPECIES = "species", "species"
    CF = "cf", "cf."
    AFF = "aff", "aff."
    FORM = "form", "undescribed form"
    LOCALITY = "locality", "locality form"


class SizeMeasure(models.TextChoices):
    """Which measure the adult size is."""

    LEG_SPAN = "leg_span", "leg span"
    BODY = "body", "body length"


class Taxon(Kept):
    """A kind of animal. Every default carries its source; an empty default means that nothing reliable is known."""

    name = models.CharField("scientific name", max_length=120, unique=True)
    authorship = models.CharField(max_length=120, blank=True)
    common_name = models.CharField(max_length=120, blank=True)
    family = models.CharField(max_length=60, blank=True)
    group = models.CharField(max_length=20, choices=[(g.value, g.label) for g in Group])
    rank = models.CharField(max_length=10, choices=Rank.choices, default=Rank.SPECIES.value)
    lifestyle = models.CharField(max_length=20, choices=[(s.value, s.value) for s in Lifestyle], blank=True)
    lifestyle_note = models.CharField(max_length=80, blank=True)
    range_note = models.CharField("where it comes from", max_length=120, blank=True)
    size_measure = models.CharField(max_length=10, choices=SizeMeasure.choices, default=SizeMeasure.LEG_SPAN.value)
    adult_size_min_mm = models.FloatField("adult size from, mm", null=True, blank=True)
    adult_size_max_mm = models.FloatField("adult size to, mm", null=True, blank=True)
    humidity_min = models.FloatField("relative humidity from, %", null=True, blank=True)
    humidity_max = models.FloatField("relative humidity to, %", null=True, blank=True)
    celsius_min = models.FloatField("temperature from, °C", null=True, blank=True)
    celsius_max = models.FloatField("temperature to, °C", null=True, blank=True)
    life_female = models.CharField("life of a female, years", max_length=40, blank=True)
    life_male = models.CharField("life of a male, years", max_length=40, blank=True)
    sac_months_min = models.FloatField("pairing to sac from, months", null=True, blank=True)
    sac_months_max = models.FloatField("pairing to sac to, months", null=True, blank=True)
    emergence_weeks_min = models.FloatField("sac to emergence from, weeks", null=True, blank=True)
    emergence_weeks_max = models.FloatField("sac to emergence to, weeks", null=True, blank=True)
    clutch_min = models.PositiveIntegerField("clutch from", null=True, blank=True)
    clutch_max = models.PositiveIntegerField("clutch to", null=True, blank=True)
    sac_kind = models.CharField("kind of sac", max_length=40, blank=True)
    parthenogenetic = models.BooleanField(default=False)
    slow = models.BooleanField("slow grower, feeds seldom", default=False)
    hookless = models.BooleanField("mature males have no hooks", default=False)
    no_spermathecae = models.BooleanField("females have no spermathecae", default=False)
    no_epigyne = models.BooleanField("females have no epigyne", default=False)
    dimorphism = models.CharField("how colour or shape tells the sexes apart", max_length=160, blank=True)
    pectines_female_min = models.PositiveSmallIntegerField("pectine teeth of a female from", null=True, blank=True)
    pectines_female_max = models.PositiveSmallIntegerField("pectine teeth of a female to", null=True, blank=True)
    pectines_male_min = models.PositiveSmallIntegerField("pectine teeth of a male from", null=True, blank=True)
    pectines_male_max = models.PositiveSmallIntegerField("pectine teeth of a male to", null=True, blank=True)
    venom_class = models.PositiveSmallIntegerField("venom class V", null=True, blank=True)
    hair_class = models.PositiveSmallIntegerField("urticating hair class H", null=True, blank=True)
    hazard_note = models.CharField(max_length=160, blank=True)
    source = models.CharField("basis of the figures", max_length=200, blank=True)
    sources = models.JSONField("source of each figure", default=dict, blank=True)
    seeded = models.JSONField("values as shipped", default=dict, blank=True, editable=False)

    objects = TaxonQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "taxa"
        constraints = [
            models.CheckConstraint(
                condition=Q(venom_class__isnull=True) | Q(venom_class__lte=3), name="taxon_venom_class_to_3"
            ),
            models.CheckConstraint(
                condition=Q(hair_class__isnull=True) | Q(hair_class__lte=3), name="taxon_hair_class_to_3"
            ),
        ]

    def __str__(self) -> str:
        """The name as it is written, with its qualifier before the epithet."""
        genus, _, rest = self.name.partition(" ")
        qualifier = {Rank.CF.value: "cf.", Rank.AFF.value: "aff."}.get(self.rank)
        return f"{genus} {qualifier} {rest}" if qualifier and rest else self.name

    def get_absolute_url(self) -> str:
        """The taxon's own page."""
        return reverse("collection:taxon-detail", args=[self.pk])

    @property
    def adult_size_mm(self) -> float | None:
        """The lower end of the adult size: from there on an animal counts as grown."""
        return self.adult_size_min_mm or self.adult_size_max_mm


class TaxonName(Kept):
    """Another name that resolves to a taxon: a synonym, an old combination, a trade name."""

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="other_names")
    name = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=10, choices=[("synonym", "synonym"), ("trade", "trade name")], default="synonym")
    source = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Listing(Kept):
    """A protection listing. It always says as of when; the keeper checks the current list."""

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="listings")
    scheme = models.CharField(max_length=40, default="CITES")
    entry = models.CharField("appendix or annex", max_length=40)
    since = models.DateField(null=True, blank=True)
    as_of = models.DateField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["scheme", "since"]
        constraints = [models.UniqueConstraint(fields=["taxon", "scheme", "entry"], name="listing_once")]

    def __str__(self) -> str:
        return f"{self.scheme} {self.entry}"
