"""Pictures of animals. The record names its two files; what lies in them was written by the intake."""

import secrets

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from collection.models.base import Dated
from collection.models.events import SexEvidence
from collection.models.molts import Molt
from collection.models.specimen import Specimen
from collection.querysets import PhotoQuerySet

THUMB_SIDE = 400  # as the intake shrinks it


def new_name() -> str:
    """A random file name that tells nothing and cannot be guessed."""
    return secrets.token_hex(16)


class Photo(Dated):
    """A picture of an animal, taken on a day; of a skin or of what tells the sex, where it stands beside that record.

    The apps above point at it from their own records. The files are never written again under the same name.
    """

    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="photos")
    molt = models.ForeignKey(Molt, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    evidence = models.ForeignKey(SexEvidence, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    caption = models.CharField(max_length=200, blank=True)
    name = models.CharField(max_length=32, unique=True, default=new_name, editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    size = models.PositiveIntegerField("bytes of both files", editable=False)
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    objects = PhotoQuerySet.as_manager()

    class Meta(Dated.Meta):
        ordering = ["-earliest", "-id"]
        constraints = [
            *Dated.Meta.constraints,
            models.CheckConstraint(condition=Q(width__gt=0, height__gt=0), name="photo_has_a_size"),
            models.UniqueConstraint(fields=["specimen", "sha256"], name="photo_once_of_an_animal"),
        ]

    def __str__(self) -> str:
        return f"picture of {self.when}"

    def get_absolute_url(self) -> str:
        """The page of the picture."""
        return reverse("collection:photo-detail", args=[self.specimen_id, self.pk])

    @property
    def large_url(self) -> str:
        """The address of the picture itself."""
        return reverse("collection:photo-large", args=[self.name])

    @property
    def small_url(self) -> str:
        """The address of its thumbnail."""
        return reverse("collection:photo-small", args=[self.name])

    @property
    def small_size(self) -> tuple[int, int]:
        """Width and height of the thumbnail, so that a page keeps its place free."""
        shrink = min(1.0, THUMB_SIDE / max(self.width, self.height))
        return max(1, round(self.width * shrink)), max(1, round(self.height * shrink))

    @property
    def words(self) -> str:
        """What is said in place of the picture."""
        shown = self.caption or ("skin" if self.molt_id else "picture")
        return f"{shown}, {self.when}"
