"""Specimens: who is kept. What is known of them is derived from dated events; see `Standing`."""

import secrets

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from collection import tags
from collection.dates import FuzzyDate
from collection.models.base import Kept, fuzzy
from collection.models.contact import Arrival, Contact
from collection.models.taxon import Taxon
from collection.querysets import SpecimenQuerySet
from collection.sexing import Verdict
from collection.stages import Group, Stage, stage_label


class SpecimenKind(models.TextChoices):
    """One animal, several kept as one, or a breeding culture."""

    SINGLE = "single", "single animal"
    GROUP = "group", "communal group"
    CULTURE = "culture", "culture"


class Origin(models.TextChoices):
    """Where an animal comes from, with the source codes of CITES Res. Conf. 12.3."""

    CAPTIVE_BRED = "C", "C, captive bred"
    CAPTIVE_BORN = "F", "F, born in captivity"
    RANCHED = "R", "R, ranched"
    WILD = "W", "W, wild caught"
    UNKNOWN = "U", "U, unknown"


class How(models.TextChoices):
    """How an animal came into the house."""

    BRED = "bred", "bred here"
    BOUGHT = "bought", "bought"
    SWAPPED = "swapped", "swapped"
    GIFT = "gift", "gift"
    CAUGHT = "caught", "caught"
    LOAN = "loan", "on loan in"


def new_tag() -> str:
    """A random tag; uniqueness is the database's to refuse."""
    return tags.draw(lambda: secrets.randbits(64))


class Specimen(Kept):
    """One animal, or a group kept as one. The code is the keeper's and is never used twice."""

    code = models.CharField(max_length=40, unique=True)
    tag = models.CharField(max_length=8, unique=True, default=new_tag, editable=False)
    name = models.CharField(max_length=60, blank=True)
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="specimens")
    kind = models.CharField(max_length=10, choices=SpecimenKind.choices, default=SpecimenKind.SINGLE.value)
    dam = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="young_of_dam")
    sire = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="young_of_sire")
    clutch = models.CharField(max_length=40, blank=True)
    hybrid = models.BooleanField("hybrid", default=False, editable=False)  # for ever: nothing sets it back
    fatherless = models.BooleanField("young without a male", null=True, editable=False)  # None: as usual for the taxon
    hatched_earliest = models.DateField("hatched or born", null=True, blank=True)
    hatched_latest = models.DateField(null=True, blank=True)
    acquired_earliest = models.DateField("in the house since", null=True, blank=True)
    acquired_latest = models.DateField(null=True, blank=True)
    how = models.CharField("how acquired", max_length=10, choices=How.choices, blank=True)
    origin = models.CharField(max_length=1, choices=Origin.choices, default=Origin.UNKNOWN.value)
    locality = models.CharField(max_length=120, blank=True)
    acquired_from = models.ForeignKey(Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="sold")
    arrival = models.ForeignKey(Arrival, on_delete=models.PROTECT, null=True, blank=True, related_name="specimens")
    price = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    entered_at = models.DateTimeField(default=timezone.now, editable=False)

    objects = SpecimenQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hatched_latest__isnull=True) | Q(hatched_latest__gte=F("hatched_earliest")),
                name="specimen_hatched_in_order",
            ),
            models.CheckConstraint(
                condition=Q(acquired_latest__isnull=True) | Q(acquired_latest__gte=F("acquired_earliest")),
                name="specimen_acquired_in_order",
            ),
            models.CheckConstraint(condition=~Q(code=""), name="specimen_has_code"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0), name="specimen_price_not_below_0"
            ),
            models.CheckConstraint(
                condition=Q(dam__isnull=True) | Q(sire__isnull=True) | ~Q(dam=F("sire")), name="specimen_two_parents"
            ),
            models.CheckConstraint(
                condition=Q(fatherless__isnull=True) | Q(fatherless=False) | Q(sire__isnull=True),
                name="specimen_without_a_male_has_no_sire",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        """The animal's own page."""
        return reverse("collection:specimen-detail", args=[self.pk])

    @property
    def hatched(self) -> FuzzyDate | None:
        """When it hatched or was born, as far as known."""
        return fuzzy(self.hatched_earliest, self.hatched_latest)

    @property
    def acquired(self) -> FuzzyDate | None:
        """Since when it is in the house, as far as known."""
        return fuzzy(self.acquired_earliest, self.acquired_latest)


class Status(models.TextChoices):
    """Where an animal is, in one word."""

    HERE = "here", "here"
    LOAN_IN = "loan_in", "on loan in"
    LOAN_OUT = "loan_out", "on loan out"
    PASSED_ON = "passed_on", "passed on"
    DEAD = "dead", "dead"
    MISSING = "missing", "missing"


class Standing(models.Model):
    """What the events of one animal add up to. Derived: only `collection.standing.rebuild` writes it."""

    specimen = models.OneToOneField(Specimen, on_delete=models.CASCADE, primary_key=True, related_name="standing")
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.HERE.value)
    single = models.BooleanField(default=True)  # the animal's kind, so that the tally needs no join
    sex = models.CharField(
        max_length=20, choices=[(v.value, v.value.replace("_", " ")) for v in Verdict], default=Verdict.UNSEXED.value
    )
    sex_probability = models.FloatField(default=0.5)
    sex_conflict = models.BooleanField(default=False)
    sex_reason = models.CharField(max_length=300, blank=True)
    stage = models.CharField(max_length=15, choices=[(s.value, s.value) for s in Stage], default=Stage.UNKNOWN.value)
    stage_reason = models.CharField(max_length=300, blank=True)
    size_mm = models.FloatField(null=True)
    instar = models.PositiveSmallIntegerField(null=True)
    instar_word = models.CharField(max_length=120, blank=True)  # with its convention, and “at least” where it is one
    last_molt = models.DateField(null=True)
    molt_begins = models.DateField(null=True)  # the next molt falls between the two with 80 %
    molt_likely = models.DateField(null=True)
    molt_ends = models.DateField(null=True)
    mature_since = models.DateField(null=True)
    head_count = models.PositiveIntegerField(default=1)

    class Meta:
        indexes = [
            models.Index(fields=["status", "single", "sex"], name="standing_tally"),  # the tally and the register
            models.Index(fields=["sex_conflict"], name="standing_conflict", condition=Q(sex_conflict=True)),
        ]

    def __str__(self) -> str:
        return f"{self.specimen_id} {self.status}"

    @property
    def probably_female(self) -> bool:
        """Female or probably so: fit to be written into a pairing as the female."""
        return self.sex in {Verdict.FEMALE.value, Verdict.PROBABLY_FEMALE.value}

    @property
    def probably_male(self) -> bool:
        """Male or probably so."""
        return self.sex in {Verdict.MALE.value, Verdict.PROBABLY_MALE.value}

    def stage_word(self, group: str) -> str:
        """The group's own word for the stage."""
        return stage_label(Group(group), Stage(self.stage))
