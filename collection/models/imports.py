"""Files that keepers bring: what was made of each, and which of their columns mean what."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class ImportBatch(models.Model):
    """One file on its way in: its bytes until it is committed, the choices made, and what was previewed."""

    class State(models.TextChoices):
        """How far it has come."""

        RECEIVED = "received", "received"
        PREVIEWED = "previewed", "previewed"
        COMMITTED = "committed", "imported"
        UNDONE = "undone", "taken back"

    kind = models.CharField(max_length=20)
    filename = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    data = models.BinaryField(null=True)  # emptied when the rows are in the collection
    sheet = models.CharField(max_length=100, blank=True)
    columns = models.JSONField(default=dict)  # {field: index of the column}
    answers = models.JSONField(default=dict)  # {question: answer}
    as_of = models.DateField("the list is as of")
    new_group = models.CharField("group of unknown species", max_length=20, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RECEIVED.value)
    counts = models.JSONField(default=dict)  # {outcome: number of rows}
    rows = models.JSONField(default=list)  # [[row number, label, outcome, [what is said of it]]]
    notes = models.JSONField(default=list)
    plan_hash = models.CharField(max_length=64, blank=True)
    wrote = models.JSONField(default=list)  # labels of the models written, in the order written
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="imports")
    at = models.DateTimeField()
    committed_at = models.DateTimeField(null=True)
    undone_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-at"]
        verbose_name_plural = "import batches"
        constraints = [
            models.CheckConstraint(
                condition=Q(data__isnull=False) | Q(state__in=["committed", "undone"]),
                name="importbatch_keeps_its_file",
            )
        ]

    def __str__(self) -> str:
        return f"{self.filename}, {self.get_state_display()}"

    @property
    def reason(self) -> str:
        """What the history of every record it wrote gives as the reason."""
        return f"import {self.pk}"


class ImportMapping(models.Model):
    """Which columns meant what when these headings came last."""

    kind = models.CharField(max_length=20)
    headings_hash = models.CharField(max_length=64)
    columns = models.JSONField(default=dict)  # {field: index of the column}
    answers = models.JSONField(default=dict)
    used_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "headings_hash"], name="importmapping_one_for_these_headings")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.headings_hash[:8]}"
