"""What the log forms share: a day, today by default, or about when; and refusals next to the field."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from collection import services
from collection.dates import FuzzyDate
from collection.models import Specimen

AHEAD = "This day lies in the future. Log it when it has happened."
FIRST_DAY = date(1900, 1, 1)  # no animal kept here is older, and what counts back from a day must find one
TOO_EARLY = "This lies before 1900. Check the year."


def refuse_early(day: date | None) -> None:
    """Refuse a year that is a slip of the fingers."""
    if day is not None and day < FIRST_DAY:
        raise forms.ValidationError(TOO_EARLY)


def day_widget() -> forms.DateInput:
    """A date field of the browser's own."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def limit(form: forms.BaseForm, low: float, high: float, *names: str) -> None:
    """Keep numbers of a form within limits, and say so next to the field."""

    def within(value: float) -> None:
        if not low <= value <= high:
            raise forms.ValidationError(f"Write a number from {low:,} to {high:,}.")

    for name in names:
        field = form.fields[name]
        field.validators = [within]  # in place of the model's own, which speak of values and constraints
        field.widget.attrs |= {"min": low, "max": high}


@dataclass(frozen=True)
class Ahead:
    """What a form would do, for a page that shows it before anything is written: its template, and what that needs."""

    template: str
    context: dict[str, Any]


SIZES_MM = (0.1, 700)  # from a springtail to the longest stick insect


class Folding(forms.BaseForm):
    """A form whose fields that can wait are shown when asked for."""

    later: tuple[str, ...] = ()

    def first_fields(self) -> list[forms.BoundField]:
        """What an entry needs now."""
        return [field for field in self.visible_fields() if field.name not in self.later]

    def later_fields(self) -> list[forms.BoundField]:
        """What can wait."""
        return [field for field in self.visible_fields() if field.name in self.later]

    def later_wrong(self) -> bool:
        """Whether a field that can wait holds something refused, so that it must be seen."""
        return any(field.errors for field in self.later_fields())


class EventForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """A form for something that happened to one animal on a day."""

    on = forms.DateField(label="Day", widget=day_widget(), required=False)

    title = "Log"
    submit = "Save"
    animal_field = "specimen"  # how the record names its animal
    day_field = "on"  # the record's own column for the day

    def __init__(self, *args: Any, specimen: Specimen, **kwargs: Any) -> None:
        self.specimen = specimen
        super().__init__(*args, **kwargs)
        self.fields["on"].initial = getattr(self.instance, self.day_field, None) or timezone.localdate()
        self.order_fields(["on", "about"])

    def remove(self) -> None:
        """Take away the record that is being corrected."""
        services.remove(self.instance, [self.specimen], f"Took away: {self.instance} of {self.specimen}")

    def back(self) -> str:
        """Where the keeper is led once the record is corrected or taken away."""
        return self.specimen.get_absolute_url()

    def clean_on(self) -> date:
        """A day, not in the future."""
        day: date = self.cleaned_data["on"] or timezone.localdate()
        if day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        refuse_early(day)
        return day

    def refuse_future(self, *names: str) -> None:
        """Refuse other days of the record that have not come."""
        for name in names:
            day = self.cleaned_data.get(name)
            if day is not None and day > timezone.localdate():
                self.add_error(name, AHEAD)
            elif day is not None and day < FIRST_DAY:
                self.add_error(name, TOO_EARLY)


def read_begun(text: str, future: str) -> FuzzyDate | None:
    """A date of any precision that has begun, or None for nothing; a ValidationError says what is wrong."""
    if not text.strip():
        return None
    try:
        when = FuzzyDate.parse(text)
    except ValueError as error:
        raise forms.ValidationError(str(error)) from None
    if when.earliest > timezone.localdate():
        raise forms.ValidationError(future)
    refuse_early(when.earliest)
    return when


class FuzzyEventForm(EventForm):
    """The same, for events whose day may be known only roughly."""

    later: tuple[str, ...] = ("about",)
    about = forms.CharField(
        label="or about when",
        required=False,
        max_length=25,
        help_text="If the day is not known: 2026-03, 2025, or 2026-03-01/2026-03-15.",
    )

    day_field = "earliest"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        record = self.instance
        if record.pk and record.earliest != record.latest:
            self.fields["about"].initial = str(record.when)

    def clean_about(self) -> FuzzyDate | None:
        """A month, a year or a range, that has begun."""
        return read_begun(self.cleaned_data["about"], "This lies in the future. Log it when it has happened.")

    def when(self) -> FuzzyDate:
        """The day or range that the form gives; a range that is still running ends today."""
        about: FuzzyDate | None = self.cleaned_data.get("about")
        if about is None:
            return FuzzyDate.on(self.cleaned_data["on"])
        return FuzzyDate(about.earliest, min(about.latest, timezone.localdate()))

    def clean(self) -> dict[str, Any]:
        """Give the record its dates before its own rules are checked."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if "on" in data and "about" in data:
            when = self.when()
            self.instance.earliest, self.instance.latest = when.earliest, when.latest
        return data
