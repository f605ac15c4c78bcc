"""Forms for places and enclosures."""

from __future__ import annotations

from django import forms

from collection.forms.base import Folding, day_widget
from husbandry import services
from husbandry.models import Enclosure, Place


class PlaceForm(forms.ModelForm):  # type: ignore[type-arg]
    """A room, rack, shelf, tray or position."""

    title = "Place"
    submit = "Save"

    class Meta:
        model = Place
        fields = ("name", "kind", "parent", "order", "note")
        labels = {"parent": "stands in", "note": "in a few words"}

    def write(self) -> None:
        """Store the place and the order of the walk."""
        services.save_place(self.instance)


class EnclosureForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """An enclosure's particulars."""

    title = "Enclosure"
    submit = "Save"
    later = ("substrate_mm", "ventilation", "water_days", "note", "retired_on")

    class Meta:
        model = Enclosure
        fields = (
            "code",
            "place",
            "position",
            "kind",
            "length_mm",
            "width_mm",
            "height_mm",
            "substrate_mm",
            "ventilation",
            "water_dish",
            "water_days",
            "note",
            "retired_on",
        )
        widgets = {"retired_on": day_widget()}

    def write(self) -> None:
        """Store the enclosure."""
        services.save_enclosure(self.instance)
