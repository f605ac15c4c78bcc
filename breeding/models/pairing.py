"""Sperm webs, pairings with their meetings, and the signs seen on the female."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from breeding import meetwords
from breeding.querysets import PairingQuerySet
from collection.models import Specimen
from collection.models.base import Dated, Kept
from collection.stages import Group


class SpermWeb(Dated):
    """A male's sperm web: he is charged and can be paired."""

    male = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="sperm_webs")
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"sperm web {self.when}"


class Pairing(Kept):
    """A female and a male, planned or brought together in one or more meetings."""

    female = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="pairings_as_female")
    male = models.ForeignKey(Specimen, on_delete=models.PROTECT, null=True, blank=True, related_name="pairings_as_male")
    planned_for = models.DateField(null=True, blank=True)
    cross_reason = models.CharField("why animals of two taxa are paired", max_length=200, blank=True)
    risk_note = models.TextField("what to watch for", blank=True)
    way_out = models.BooleanField("a way out for him", null=True, blank=True)
    retreat = models.BooleanField("a retreat for her", null=True, blank=True)
    note = models.TextField(blank=True)

    objects = PairingQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(male__isnull=True) | ~Q(male=F("female")), name="pairing_takes_two")
        ]

    def __str__(self) -> str:
        return f"{self.female} × {self.male or 'unknown male'}"

    def get_absolute_url(self) -> str:
        """The pairing's own page."""
        return reverse("breeding:pairing-detail", args=[self.pk])


class Meeting(Dated):
    """One meeting of a pairing: what was seen, and how it ended."""

    class Ending(models.TextChoices):
        """How a meeting ended."""

        UNKNOWN = "unknown", "not seen"
        PEACE = "peace", "parted in peace"
        ATTACK = "attack", "she attacked, both live"
        MALE_LOST = "male_lost", "male lost"
        FEMALE_LOST = "female_lost", "female lost"
        LEFT = "left", "left together"

    pairing = models.ForeignKey(Pairing, on_delete=models.PROTECT, related_name="meetings")
    begins_at = models.TimeField("began", null=True, blank=True)
    ends_at = models.TimeField("ended", null=True, blank=True)
    drumming = models.BooleanField("drumming", null=True, blank=True)
    insertions_left = models.PositiveSmallIntegerField("insertions seen, left", null=True, blank=True)
    insertions_right = models.PositiveSmallIntegerField("insertions seen, right", null=True, blank=True)
    ending = models.CharField(max_length=12, choices=Ending.choices, default=Ending.UNKNOWN.value)
    celsius = models.FloatField("temperature when it began, °C", null=True, blank=True)
    humidity = models.FloatField("relative humidity when it began, %", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta(Dated.Meta):
        ordering = ["earliest", "id"]

    def __str__(self) -> str:
        return f"meeting {self.when}"

    @property
    def climate(self) -> str:
        """What a sensor measured when it began, in words."""
        parts = [] if self.celsius is None else [f"{self.celsius:.1f} °C"]
        return ", ".join(parts + ([] if self.humidity is None else [f"{self.humidity:.0f} %"]))

    @property
    def insertions(self) -> int | None:
        """Insertions seen, both sides; None when nobody could see."""
        seen = [n for n in (self.insertions_left, self.insertions_right) if n is not None]
        return sum(seen) if seen else None

    @property
    def seen(self) -> str:
        """The same in the words of her group."""
        return meetwords.words_of(Group(self.pairing.female.taxon.group)).say(self.insertions)


class MeetingTap(models.Model):
    """One tap on the phone while two are together, exactly once: its key was made there and is unique here.

    Taps of one meeting share their `sitting`, an id made on the phone too, for the house may not hear of a meeting
    before it is over. The meeting itself is written, and rewritten, from the taps when the end has come.
    """

    class Kind(models.TextChoices):
        """What was tapped."""

        BEGIN = "begin", "begun"
        DRUM_HIM = "drum_him", "he drums"
        DRUM_HER = "drum_her", "she drums"
        APPROACH = "approach", "approach"
        CONTACT = "contact", "contact"
        LIFTED = "lifted", "lifted"
        LEFT = "left", "insertion left"
        RIGHT = "right", "insertion right"
        COUPLED = "coupled", "joined"
        PARTED = "parted", "parted"
        ATTACK = "attack", "attack"
        MALE_LOST = "male_lost", "male lost"
        MALE_REMOVED = "male_removed", "male taken out"
        END = "end", "ended"
        UNDO = "undo", "undo"

    key = models.UUIDField(unique=True)
    pairing = models.ForeignKey(Pairing, on_delete=models.PROTECT, related_name="taps")
    sitting = models.UUIDField(db_index=True)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    ending = models.CharField(max_length=12, choices=Meeting.Ending.choices, blank=True)
    undoes = models.UUIDField("key of the tap that it undoes", null=True, blank=True)
    undone_by = models.OneToOneField("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="undid")
    at = models.DateTimeField()  # by the house's clock: the phone's own is corrected on arrival
    received_at = models.DateTimeField(default=timezone.now)
    meeting = models.ForeignKey(Meeting, on_delete=models.SET_NULL, null=True, blank=True, related_name="taps")

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%H:%M:%S}"


class Sign(Dated):
    """A sign seen on a paired female."""

    class Kind(models.TextChoices):
        """What was seen."""

        FATTENING = "fattening", "fattening"
        WEBBING = "webbing", "heavy webbing"
        CLOSED = "closed", "burrow or retreat closed"
        REFUSING = "refusing", "refusing food"
        DIGGING = "digging", "digging"
        BALD_DARK = "bald_dark", "bald patch darkens"
        SWOLLEN = "swollen", "body swollen"
        NOTHING = "nothing", "nothing new"

    female = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="signs")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    note = models.CharField(max_length=200, blank=True)

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]

    def __str__(self) -> str:
        return f"{self.kind} {self.when}"
