"""Forms for people and arrivals."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from collection import health_services, receipts
from collection.forms.base import FIRST_DAY, TOO_EARLY, day_widget, limit
from collection.health import QUARANTINE_DAYS
from collection.models import Arrival, Contact


class ContactForm(forms.ModelForm):  # type: ignore[type-arg]
    """Someone the keeper deals with."""

    title = "Contact"
    submit = "Save"

    class Meta:
        model = Contact
        fields = ("name", "email", "phone", "address", "vet", "note")
        widgets = {"address": forms.Textarea(attrs={"rows": 3}), "note": forms.Textarea(attrs={"rows": 3})}

    def write(self) -> None:
        """Store the contact."""
        self.instance.save()
        receipts.note(f"Contact {self.instance.name}")


class ArrivalForm(forms.ModelForm):  # type: ignore[type-arg]
    """A box that came."""

    title = "Arrival"
    submit = "Save"

    class Meta:
        model = Arrival
        fields = ("on", "contact", "expected", "alive", "dead", "box_celsius", "quarantine_days", "note")
        widgets = {"on": day_widget(), "note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, -40, 60, "box_celsius")
        limit(self, 0, 100_000, "expected", "alive", "dead")
        limit(self, 0, 400, "quarantine_days")
        self.fields[
            "quarantine_days"
        ].help_text = (
            "For every animal of the box. Common practice: 30 at least, 60 to 90 for what was caught; 0 for none."
        )
        if not self.instance.pk:
            self.fields["on"].initial = timezone.localdate()
            self.fields["quarantine_days"].initial = QUARANTINE_DAYS

    def clean(self) -> dict[str, Any]:
        """Not in the future, and the count against the list."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("on") and data["on"] > timezone.localdate():
            self.add_error("on", "This day lies in the future. Log it when the box has come.")
        elif data.get("on") and data["on"] < FIRST_DAY:
            self.add_error("on", TOO_EARLY)
        return data

    def write(self) -> None:
        """Store the arrival."""
        health_services.save_arrival(self.instance, timezone.localdate())
