"""What happened to an animal, dated. Facts only; what they add up to is derived."""

from django.db import models
from django.db.models import F, Q

from collection.models.base import Dated, Kept, any_given, positive
from collection.models.contact import Contact
from collection.models.molts import Molt
from collection.models.specimen import Specimen
from collection.sexing import Finding, Method
from collection.stages import Stage


class SexEvidence(Dated):
    """One look at what tells the sex. Appended and weighed, never overwritten; withdrawn with a reason.

    A look that was written down wrongly is withdrawn too, and the mended one names it in `mends`.
    """

    class Lens(models.TextChoices):
        """What the structure was magnified with."""

        LOUPE = "loupe", "loupe, 10× or more"
        MICROSCOPE = "microscope", "microscope"
        PICTURE = "picture", "sharp picture, enlarged"

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="sex_evidence")
    method = models.CharField("looked at", max_length=20, choices=[(m.value, m.label) for m in Method])
    finding = models.CharField(max_length=10, choices=[(f.value, f.value) for f in Finding])
    confident = models.BooleanField("sure of what was seen", default=True)
    counted = models.PositiveSmallIntegerField("teeth or segments counted", null=True, blank=True)
    size_mm = models.FloatField("leg span then, mm", null=True, blank=True)
    carapace_mm = models.FloatField("or carapace then, mm", null=True, blank=True)
    instar_then = models.PositiveSmallIntegerField("instar then", null=True, blank=True)
    intact = models.BooleanField("skin intact", default=True)
    lens = models.CharField("looked with", max_length=12, choices=Lens.choices, blank=True)
    looked_by = models.CharField("who looked", max_length=60, blank=True)
    molt = models.ForeignKey(Molt, on_delete=models.SET_NULL, null=True, blank=True, related_name="sex_evidence")
    note = models.CharField(max_length=200, blank=True)
    withdrawn = models.CharField("withdrawn because", max_length=200, blank=True)
    mends = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="mended_by", editable=False
    )

    class Meta(Dated.Meta):
        ordering = ["earliest", "id"]
        verbose_name_plural = "sex evidence"
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=positive("size_mm", "carapace_mm", "counted", "instar_then"), name="sexevidence_size_above_0"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.method}: {self.finding}"

    @property
    def magnified(self) -> bool:
        """Whether more than the naked eye looked."""
        return bool(self.lens)


class Measurement(Dated):
    """Dated sizes and mass, and the stage the keeper saw. SI units inside, shown as the keeper likes."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="measurements")
    mass_g = models.FloatField("mass, g", null=True, blank=True)
    carapace_mm = models.FloatField("carapace length, mm", null=True, blank=True)
    leg_span_mm = models.FloatField("leg span, mm", null=True, blank=True)
    body_mm = models.FloatField("body length, mm", null=True, blank=True)
    abdomen_mm = models.FloatField("abdomen width, mm", null=True, blank=True)
    stage_seen = models.CharField(
        "stage seen", max_length=15, choices=[(s.value, s.value) for s in Stage], null=True, blank=True
    )

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=positive("mass_g", "carapace_mm", "leg_span_mm", "body_mm", "abdomen_mm"),
                name="measurement_above_0",
            ),
            models.CheckConstraint(
                condition=any_given("mass_g", "carapace_mm", "leg_span_mm", "body_mm", "abdomen_mm", "stage_seen"),
                name="measurement_measures_something",
            ),
        ]

    def __str__(self) -> str:
        return f"measured {self.when}"


class GroupCount(Dated):
    """How many a group or culture holds, and how that was found."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="counts")
    count = models.PositiveIntegerField()
    method = models.CharField(
        max_length=10,
        choices=[("counted", "counted"), ("sampled", "sampled"), ("guessed", "guessed")],
        default="counted",
    )

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"{self.count} {self.method}"


class Note(Dated):
    """Anything worth keeping in words. One that says that something is wrong is asked for until it is answered."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="notes")
    text = models.TextField(blank=True)
    wrong = models.BooleanField("something is wrong", default=False)
    signs = models.JSONField("what was seen", default=list, blank=True)
    issue = models.ForeignKey(
        "collection.HealthIssue", on_delete=models.SET_NULL, null=True, blank=True, related_name="notes"
    )
    set_aside = models.CharField("not followed because", max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(
                condition=Q(wrong=True) | Q(issue__isnull=True, set_aside=""), name="note_answers_what_is_wrong"
            ),
            models.CheckConstraint(condition=Q(issue__isnull=True) | Q(set_aside=""), name="note_answered_once"),
        ]

    def __str__(self) -> str:
        return self.text[:60] or "something is wrong"


class DeathCause(models.TextChoices):
    """Causes of death, as the trade tells them apart."""

    UNKNOWN = "unknown", "unknown"
    MOLT = "molt", "molt failure"
    FALL = "fall", "fall or injury"
    DRY = "dehydration", "dehydration"
    HEAT = "heat", "overheating"
    COLD = "cold", "chilling"
    PARASITE = "parasite", "parasite (nematode, mite, fly larva)"
    PREY = "prey", "injury by prey"
    PAIRING = "pairing", "cannibalised in pairing"
    SIBLING = "sibling", "cannibalised by a sibling"
    INFECTION = "infection", "infection or mould"
    MALE_AGE = "male_age", "senescence of a mature male"
    AGE = "age", "old age"
    SHIPPING = "shipping", "shipping loss"
    EGG = "egg", "egg or pre-feeding loss"


class Death(Dated):
    """The end of one animal. Its records and its young stay."""

    specimen = models.OneToOneField(Specimen, on_delete=models.PROTECT, related_name="death")
    cause = models.CharField(max_length=12, choices=DeathCause.choices, default=DeathCause.UNKNOWN.value)
    post_mortem = models.TextField("post-mortem notes", blank=True)
    body_kept = models.BooleanField(default=False)
    body_where = models.CharField("body kept where", max_length=80, blank=True)

    class Meta(Dated.Meta):
        pass

    def __str__(self) -> str:
        return f"died {self.when}"


class HeadLoss(Dated):
    """Some of a group or culture died; the group lives on."""

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="head_losses")
    number = models.PositiveIntegerField("how many died", default=1)
    cause = models.CharField(max_length=12, choices=DeathCause.choices, default=DeathCause.UNKNOWN.value)
    post_mortem = models.TextField("post-mortem notes", blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(condition=Q(number__gte=1), name="headloss_at_least_one"),
        ]

    def __str__(self) -> str:
        return f"{self.number} died {self.when}"


class Departure(Kept):
    """An animal that left the house: passed on for good, lent out for a time, or missing until found."""

    class Kind(models.TextChoices):
        """Why it is not here."""

        PASSED_ON = "passed_on", "passed on"
        LOAN_OUT = "loan_out", "lent out"
        MISSING = "missing", "missing"

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="departures")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    on = models.DateField("since")
    back_on = models.DateField("back since", null=True, blank=True)
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT, null=True, blank=True, related_name="received")
    price = models.DecimalField("what it brought", max_digits=9, decimal_places=2, null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(back_on__isnull=True) | Q(back_on__gte=F("on")), name="departure_back_after_leaving"
            ),
            models.UniqueConstraint(fields=["specimen"], condition=Q(back_on__isnull=True), name="departure_one_open"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0, kind="passed_on"),
                name="departure_price_of_what_was_passed_on",
            ),
            models.CheckConstraint(
                condition=~Q(kind="passed_on") | Q(back_on__isnull=True), name="departure_passed_on_is_final"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.on}"
