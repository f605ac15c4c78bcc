"""A walk along the racks, and every tap made on it."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from collection.models import Note, Specimen
from husbandry.models.care import Feeding, Upkeep
from husbandry.models.place import Enclosure, Place


class Walk(models.Model):
    """One round of a rack, a room or the whole house, by one person."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="walks")
    stops = models.JSONField(default=list)  # enclosures in the order of the walk, fixed when it begins
    only_due = models.BooleanField("only what is due", default=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="walks")
    started_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    phone_empty_at = models.DateTimeField("last told that nothing waits on the phone", null=True, blank=True)

    class Meta:
        ordering = ["-started_at", "-id"]

    def __str__(self) -> str:
        return f"walk of {self.place or 'the house'}"


class Tap(models.Model):
    """One tap, exactly once: its key was made on the phone and is unique here."""

    class Kind(models.TextChoices):
        """What was tapped."""

        TAKEN = "taken", "taken"
        REFUSED = "refused", "refused"
        LEFT = "left", "left in"
        ATE = "ate", "ate what was left in"
        REMOVED = "removed", "leftovers taken out"
        NOT_OFFERED = "not_offered", "not offered"
        WATER = "water", "water"
        UPKEEP = "upkeep", "upkeep"
        NOTE = "note", "something is wrong"
        UNDO = "undo", "undo"

    class Reason(models.TextChoices):
        """Why nothing was offered."""

        PREMOLT = "premolt", "premolt"
        MOLTED = "molted", "fresh molt"
        SAC = "sac", "with a sac"
        FULL = "full", "fat enough"
        UNSEEN = "unseen", "not seen"
        NO_FOOD = "no_food", "no food left"
        HELD = "held", "on hold"
        OTHER = "other", "another reason"

    key = models.UUIDField(unique=True)
    walk = models.ForeignKey(Walk, on_delete=models.PROTECT, related_name="taps")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    enclosure = models.ForeignKey(Enclosure, on_delete=models.PROTECT, null=True, blank=True, related_name="taps")
    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, null=True, blank=True, related_name="taps")
    detail = models.JSONField(default=dict)
    happened_at = models.DateTimeField()  # by the house's clock: the phone's own is corrected on arrival
    received_at = models.DateTimeField(default=timezone.now)
    feeding = models.ForeignKey(Feeding, on_delete=models.SET_NULL, null=True, blank=True, related_name="taps")
    upkeep = models.ForeignKey(Upkeep, on_delete=models.SET_NULL, null=True, blank=True, related_name="taps")
    note = models.ForeignKey(Note, on_delete=models.SET_NULL, null=True, blank=True, related_name="taps")
    undone_by = models.OneToOneField("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="undoes")

    class Meta:
        ordering = ["happened_at", "id"]
        indexes = [models.Index(fields=["walk", "happened_at"], name="tap_of_walk")]  # the summary

    def __str__(self) -> str:
        return f"{self.kind} {self.specimen or self.enclosure}"

    @property
    def said(self) -> str:
        """What the tap adds to its kind: the prey, the reason, the words."""
        if self.kind == self.Kind.NOT_OFFERED.value:
            return str(dict(self.Reason.choices).get(self.detail.get("reason", ""), ""))
        if self.kind == self.Kind.UPKEEP.value:
            return str(dict(Upkeep.Kind.choices).get(self.detail.get("work", ""), ""))
        if self.kind == self.Kind.NOTE.value:
            return str(self.detail.get("text", ""))
        size, number = self.detail.get("mm"), self.detail.get("number") or 1
        parts = [self.detail.get("prey", ""), f"{size:g} mm" if size else "", f"{number:g}" if number > 1 else ""]
        return ", ".join(part for part in parts if part)
