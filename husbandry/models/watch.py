"""Looking at those that were near an animal that may carry something."""

from django.db import models

from collection.health import Found
from collection.models import HealthIssue, Specimen
from collection.models.base import Kept


class ExposureCheck(Kept):
    """One animal that was near was looked at on a day, and what that gave."""

    issue = models.ForeignKey(HealthIssue, on_delete=models.PROTECT, related_name="exposure_checks")
    specimen = models.ForeignKey(Specimen, on_delete=models.PROTECT, related_name="exposure_checks")
    on = models.DateField()
    found = models.CharField(max_length=10, choices=Found.choices())
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["issue", "specimen", "on"], name="exposurecheck_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.found} {self.on}"
