"""A feeder's particulars, and an entry in its book."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone

from collection.forms.base import AHEAD, Folding, day_widget, limit
from collection.models import Specimen, SpecimenKind
from husbandry import feeder_services
from husbandry.feeder_ledger import EntryKind
from husbandry.feeder_outlook import SHOP_DAYS
from husbandry.forms.care import PreyInput
from husbandry.models import FeederEntry, FeederStock

MOST = 1_000_000


class FeederForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """A feeder that is kept, and how many there are when its book begins."""

    title = "Feeder"
    submit = "Save"
    later = ("culture", "kept", "note")
    there = forms.IntegerField(label="how many are there now", required=False, min_value=0)
    method = forms.ChoiceField(
        label="how it was found", choices=FeederEntry.Method.choices, initial="counted", required=False
    )

    class Meta:
        model = FeederStock
        fields = ("kind", "mm", "culture", "kept", "note")
        widgets = {"kind": PreyInput}
        labels = {"mm": "length, mm"}
        help_texts = {
            "kind": "By the name that meals are logged under: they are what its book is drawn from.",
            "mm": "Empty where sizes are not told apart.",
            "culture": "The culture it is bred in, if it is bred here.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0.1, 300, "mm")
        limit(self, 0, MOST, "there")
        bred = Specimen.objects.filter(kind=SpecimenKind.CULTURE.value).here()
        own = Q(pk=self.instance.culture_id)  # kept on an edit, even if it died out
        self.fields["culture"].queryset = Specimen.objects.filter(Q(pk__in=bred) | own).order_by("code")  # type: ignore[attr-defined]
        if self.instance.pk:
            del self.fields["there"], self.fields["method"]
            return
        self.order_fields(["kind", "mm", "there", "method"])

    def write(self) -> None:
        """Store the feeder, and the count that opens its book."""
        stock = feeder_services.save_stock(self.instance)
        there = self.cleaned_data.get("there")
        if there is not None:
            method = self.cleaned_data.get("method") or FeederEntry.Method.COUNTED.value
            day, kind = timezone.localdate(), EntryKind.COUNTED.value
            feeder_services.record_entry(FeederEntry(stock=stock, on=day, kind=kind, number=there, method=method))


class EntryForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """A count, a purchase, what a culture gave, what died or was given away."""

    title = "Entry"
    submit = "Save"
    later = ("note",)
    FIELDS = {EntryKind.COUNTED: ("method",), EntryKind.BOUGHT: ("cost", "contact")}

    class Meta:
        model = FeederEntry
        fields = ("on", "number", "method", "cost", "contact", "note")
        widgets = {"on": day_widget()}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = EntryKind(self.instance.kind)
        for name in ("method", "cost", "contact"):
            if name not in self.FIELDS.get(kind, ()):
                del self.fields[name]
        limit(self, 0 if kind is EntryKind.COUNTED else 1, MOST, "number")
        if self.instance.pk is None:
            self.initial.update(on=timezone.localdate(), method=FeederEntry.Method.COUNTED.value)
        if "method" in self.fields:
            self.fields["method"].required = True
        if "cost" in self.fields:
            limit(self, 0, 100_000, "cost")
        self.title = f"{kind.label.capitalize()}: {self.instance.stock}"

    def clean_on(self) -> date:
        """A day, not in the future."""
        day: date = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        return day

    def write(self) -> None:
        """Store the entry."""
        feeder_services.record_entry(self.instance)

    def remove(self) -> None:
        """Take it out of the book."""
        feeder_services.remove_entry(self.instance)


class ShoppingForm(forms.Form):
    """Until which day the stock is to suffice."""

    until = forms.DateField(label="next shopping day", widget=day_widget(), required=False)

    def days(self, today: date, most: int) -> int:
        """How many days that is, today included; a week where nothing sensible is asked for."""
        until = self.cleaned_data.get("until") if self.is_valid() else None
        return SHOP_DAYS if until is None else min(max((until - today) // timedelta(days=1), 1), most)
