"""Forms for places and enclosures."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from collection.forms.base import AHEAD, Folding, day_widget, limit
from collection.wording import plural
from husbandry import services
from husbandry.models import Enclosure, Place, Upkeep, UpkeepRhythm


class PlaceForm(forms.ModelForm):  # type: ignore[type-arg]
    """A room, rack, shelf, tray or position."""

    title = "Place"
    submit = "Save"

    class Meta:
        model = Place
        fields = ("name", "kind", "parent", "order", "note", "quarantine")
        labels = {"parent": "stands in", "note": "in a few words"}
        error_messages = {"parent": {"invalid_choice": "Choose a place that does not stand inside this one."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 100_000, "order")
        if self.instance.pk:
            elsewhere = Place.objects.exclude(walk_key__startswith=self.instance.walk_key)
            self.fields["parent"].queryset = elsewhere  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """One name in one place."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        same = Place.objects.filter(parent=data.get("parent"), name=data.get("name", ""))
        if same.exclude(pk=self.instance.pk).exists():
            self.add_error("name", "There is one of this name there already. Give it another.")
        return data

    def write(self) -> None:
        """Store the place and the order of the walk."""
        services.save_place(self.instance)


BANDS = ("celsius_min", "celsius_max", "humidity_min", "humidity_max")
BACKWARDS = "The band runs backwards: its lower end must lie below the upper one."


def check_bands(form: forms.BaseForm, data: dict[str, Any]) -> None:
    """A band has its lower end below its upper one."""
    for quantity in ("celsius", "humidity"):
        low, high = data.get(f"{quantity}_min"), data.get(f"{quantity}_max")
        if low is not None and high is not None and low >= high:
            form.add_error(f"{quantity}_max", BACKWARDS)


class Retiring(forms.ModelForm):  # type: ignore[type-arg]
    """A form of what is retired one day."""

    def clean_retired_on(self) -> date | None:
        """It is in use until the day it is not."""
        day: date | None = self.cleaned_data["retired_on"]
        if day is not None and day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        return day


class EnclosureForm(Folding, Retiring):
    """An enclosure's particulars."""

    title = "Enclosure"
    submit = "Save"
    later = ("substrate_mm", "ventilation", "water_days", *BANDS, "note", "retired_on")

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
            *BANDS,
            "note",
            "retired_on",
        )
        widgets = {"retired_on": day_widget()}
        error_messages = {"code": {"unique": "There is an enclosure of this code already."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 5000, "length_mm", "width_mm", "height_mm")
        limit(self, 0, 2000, "substrate_mm")
        limit(self, 1, 365, "water_days")
        limit(self, 0, 100_000, "position")
        limit(self, -10, 50, "celsius_min", "celsius_max")
        limit(self, 0, 100, "humidity_min", "humidity_max")

    def clean(self) -> dict[str, Any]:
        """A band of its own runs forwards."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        check_bands(self, data)
        return data

    def write(self) -> None:
        """Store the enclosure."""
        services.save_enclosure(self.instance)


class UpkeepRhythmForm(Folding, forms.Form):
    """How often an enclosure, or all that stand in a place, are misted, cleaned and looked through."""

    submit = "Save"

    def __init__(self, *args: Any, of: Enclosure | Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.of = self.instance = of
        self.title = "Upkeep rhythms of"
        where = {"enclosure": of} if isinstance(of, Enclosure) else {"place": of}
        known = dict(UpkeepRhythm.objects.filter(**where).values_list("kind", "days"))
        for kind, name in Upkeep.Kind.choices:
            if kind != Upkeep.Kind.WATER.value:
                field = forms.IntegerField(
                    min_value=0, max_value=730, required=False, label=f"{name}, every so many days"
                )
                field.initial = known.get(kind)
                self.fields[kind] = field
        for kind, (days, place) in services.upkeep_around(of).items():
            self.fields[kind].help_text = f"Left empty: every {plural(days, 'day')}, as {place} has it. 0: not here."

    def write(self) -> None:
        """Store the rhythms."""
        services.set_upkeep_rhythms(self.of, self.cleaned_data, timezone.localdate())
