"""What someone who feeds in the keeper's absence must have at hand."""

from django.db import models

from collection.models.base import Kept


class EmergencyCard(Kept):
    """Whom to call. One card for the house, printed on every handover sheet."""

    poison_centre = models.CharField("poison centre, number", max_length=80, blank=True)
    doctor = models.CharField("doctor or emergency number", max_length=80, blank=True)
    vet = models.CharField("vet who sees invertebrates", max_length=80, blank=True)
    keeper = models.CharField("how to reach the keeper", max_length=120, blank=True)
    neighbour = models.CharField("someone near by with a key", max_length=120, blank=True)
    note = models.TextField("what else to know", blank=True)

    def __str__(self) -> str:
        return "emergency card"

    @classmethod
    def of_the_house(cls) -> "EmergencyCard":
        """The one card, empty until somebody fills it in."""
        return cls.objects.order_by("pk").first() or cls()

    def lines(self) -> list[tuple[str, str]]:
        """What is filled in, with its label."""
        names = ("poison_centre", "doctor", "vet", "keeper", "neighbour")
        pairs = [(str(self._meta.get_field(name).verbose_name), getattr(self, name)) for name in names]  # type: ignore[union-attr]
        return [(label, value) for label, value in pairs if value]
