"""What forms of many animals share: one day for all of them, and another day for single ones."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection.dates import FuzzyDate
from collection.forms.base import AHEAD, FIRST_DAY, TOO_EARLY, day_widget, refuse_early
from collection.models import Specimen

TODAY, YESTERDAY, OTHER = "today", "yesterday", "other"


def named(prefix: str, animal: Specimen) -> str:
    """The name of an animal's own field: a letter and its number."""
    return f"{prefix}{animal.pk}"


class TrayForm(forms.Form):
    """A day for all, a day of its own for who differs; what was tapped stays through every refusal."""

    day = forms.ChoiceField(
        label="When",
        choices=[(TODAY, "today"), (YESTERDAY, "yesterday"), (OTHER, "another day")],
        widget=forms.RadioSelect,
        initial=TODAY,
    )
    on = forms.DateField(label="on, or from", required=False, widget=day_widget())
    until = forms.DateField(label="to, if found later", required=False, widget=day_widget())
    rows_say = "that day"  # what the day of a row is, beside its field
    behind: tuple[str, ...] = ("d",)  # the fields that are folded behind a row, its day first

    def __init__(self, *args: Any, animals: Sequence[Specimen], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.animals = animals
        taxa = {animal.taxon_id: animal.taxon for animal in animals}
        self.taxon = next(iter(taxa.values())) if len(taxa) == 1 else None  # said once where all are of one
        for animal in animals:
            own = forms.DateField(label=self.rows_say, required=False, widget=day_widget())
            self.fields[named("d", animal)] = own

    def clean_on(self) -> date | None:
        """A day that has come."""
        return self._come("on")

    def clean_until(self) -> date | None:
        """A day that has come."""
        return self._come("until")

    def _come(self, name: str) -> date | None:
        day: date | None = self.cleaned_data[name]
        if day is not None and day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        refuse_early(day)
        return day

    def clean(self) -> dict[str, Any]:
        """Another day is given, its range runs forwards, and no row's own day lies ahead."""
        data = super().clean() or self.cleaned_data
        if data.get("day") == OTHER and not self.errors:
            if data["on"] is None:
                self.add_error("on", "Choose the day; with a second one, it was some day between the two.")
            elif data["until"] is not None and data["until"] < data["on"]:
                self.add_error("until", "This lies before the first day.")
        for animal in self.animals:
            own = data.get(named("d", animal))
            if own is not None and own > timezone.localdate():
                self.add_error(named("d", animal), AHEAD)
            elif own is not None and own < FIRST_DAY:
                self.add_error(named("d", animal), TOO_EARLY)
        return data

    def when(self) -> FuzzyDate:
        """The day or range of all that have none of their own."""
        today, data = timezone.localdate(), self.cleaned_data
        if data["day"] == OTHER and data["on"] is not None:
            return FuzzyDate(data["on"], data["until"] or data["on"])
        return FuzzyDate.on(today - timedelta(days=data["day"] == YESTERDAY))

    def when_of(self, animal: Specimen) -> FuzzyDate:
        """The day of one animal."""
        own: date | None = self.cleaned_data.get(named("d", animal))
        return self.when() if own is None else FuzzyDate.on(own)

    def folded(self, animal: Specimen) -> list[forms.BoundField]:
        """What is folded behind a row, its day first."""
        return [self[named(prefix, animal)] for prefix in self.behind if named(prefix, animal) in self.fields]

    def unfolded(self, animal: Specimen) -> bool:
        """Whether something is said behind a row, so that it must be seen."""
        return any(field.errors or field.value() for field in self.folded(animal))
