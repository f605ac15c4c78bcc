"""What holds for the whole house."""

from __future__ import annotations

from django import forms

from collection import receipts
from collection.models import House
from collection.models.house import ONLY_ROW


class HouseForm(forms.ModelForm):  # type: ignore[type-arg]
    """The currency of all prices."""

    title = "Currency"
    submit = "Save"

    class Meta:
        model = House
        fields = ("currency",)

    def write(self) -> None:
        """Store the one row."""
        self.instance.pk = ONLY_ROW
        self.instance.save()
        receipts.note(f"Prices are in {self.instance.currency}")
