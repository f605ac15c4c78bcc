"""Forms for an absence and for the emergency card."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection import receipts
from collection.forms.base import day_widget
from husbandry import absence
from husbandry.models import EmergencyCard, Place

FURTHEST = timedelta(days=366)


class AbsenceForm(forms.Form):
    """From when to when, and which part of the house. Its values stand in the address."""

    begins = forms.DateField(label="first day", widget=day_widget())
    ends = forms.DateField(label="last day", widget=day_widget())
    place = forms.ModelChoiceField(
        queryset=Place.objects.in_walking_order(), required=False, empty_label="the whole house"
    )

    sheet = forms.IntegerField(required=False, min_value=1, max_value=100_000, widget=forms.HiddenInput)

    @staticmethod
    def usual() -> dict[str, Any]:
        """A fortnight from tomorrow."""
        tomorrow = timezone.localdate() + timedelta(days=1)
        return {"begins": tomorrow.isoformat(), "ends": (tomorrow + timedelta(days=13)).isoformat(), "place": ""}

    def clean(self) -> dict[str, Any]:
        """The days are in order and not too many for one sheet."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if "begins" in data and abs(data["begins"] - timezone.localdate()) > FURTHEST:
            self.add_error("begins", "A sheet is made for an absence within a year from today.")
        elif "begins" in data and "ends" in data:
            try:
                absence.days_between(data["begins"], data["ends"])
            except ValueError as refusal:
                self.add_error("ends", str(refusal))
        return data


class EmergencyCardForm(forms.ModelForm):  # type: ignore[type-arg]
    """Whom to call."""

    title = "Emergency card"
    submit = "Save"

    class Meta:
        model = EmergencyCard
        fields = ("poison_centre", "doctor", "vet", "keeper", "neighbour", "note")
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def write(self) -> None:
        """Store the card."""
        self.instance.save()
        receipts.note("Emergency card")
