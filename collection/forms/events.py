"""Forms for what happens to an animal."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from collection import panels, services
from collection.forms.base import SIZES_MM, EventForm, FuzzyEventForm, day_widget, limit
from collection.health import WITH_ABDOMEN
from collection.models import Death, Departure, GroupCount, HeadLoss, Measurement, Note
from collection.skins import BODY, CARAPACE, LEG_SPAN, measures_for
from collection.stages import Group, Stage, stage_label


def sentence_case(text: str) -> str:
    """First letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


class MeasureForm(FuzzyEventForm):
    """Sizes, mass and the stage seen."""

    title = "Log a measurement"
    later: tuple[str, ...] = ("about", "body_mm", "abdomen_mm")

    class Meta:
        model = Measurement
        fields = ("leg_span_mm", "carapace_mm", "body_mm", "abdomen_mm", "mass_g", "stage_seen")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0.0001, 1000, "mass_g")
        group = Group(self.specimen.taxon.group)
        self._own_measures(group)
        stages = [s for s in Stage if s not in {Stage.UNKNOWN, Stage.CULTURE}]
        words = {s.value: stage_label(group, s) for s in stages}
        self.fields["stage_seen"].choices = [("", "–"), *words.items()]  # type: ignore[attr-defined]

    def _own_measures(self, group: Group) -> None:
        """What is measured of this group, in its own words; a size that is on record stays, whatever the group."""
        own = measures_for(group)
        for name in (LEG_SPAN, CARAPACE, BODY):
            if name in own:
                self.fields[name].label = f"{own[name]}, mm"
            elif getattr(self.instance, name) is None:
                del self.fields[name]
        if group not in WITH_ABDOMEN and self.instance.abdomen_mm is None:
            del self.fields["abdomen_mm"]
        if LEG_SPAN not in own:
            self.later = ("about", "abdomen_mm")  # without legs to measure across, the body is what is measured
        limit(self, *SIZES_MM, *(name for name in (LEG_SPAN, CARAPACE, BODY, "abdomen_mm") if name in self.fields))

    def clean_stage_seen(self) -> str | None:
        """No stage given is no stage, not an empty one."""
        return self.cleaned_data["stage_seen"] or None

    def clean(self) -> dict[str, Any]:
        """Something must have been measured."""
        data = super().clean()
        if not self.errors and not any(data.get(name) for name in self.Meta.fields):
            raise forms.ValidationError("Give at least one size, a mass or the stage seen.")
        return data

    def write(self) -> None:
        """Store the measurement."""
        self.instance.specimen = self.specimen
        services.write(self.instance, [self.specimen], f"Measured {self.specimen.code}")


class NoteForm(FuzzyEventForm):
    """A note in words."""

    title = "Write a note"

    class Meta:
        model = Note
        fields = ("text",)
        widgets = {"text": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["text"].required = not self.instance.signs

    def write(self) -> None:
        """Store the note."""
        self.instance.specimen = self.specimen
        services.write(self.instance, [self.specimen], f"Note on {self.specimen.code}")


class CountForm(FuzzyEventForm):
    """A head count of a group or culture."""

    title = "Count heads"

    class Meta:
        model = GroupCount
        fields = ("count", "method")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 1_000_000, "count")

    def write(self) -> None:
        """Store the count."""
        self.instance.specimen = self.specimen
        services.record_count(self.instance)


class DeathForm(FuzzyEventForm):
    """A death, with what was found."""

    title = "Log a death"
    submit = "Died"

    later = ("about", "body_where")

    class Meta:
        model = Death
        fields = ("cause", "post_mortem", "body_kept", "body_where")
        widgets = {"post_mortem": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        likely = "" if self.instance.pk else panels.likely_cause(self.specimen, timezone.localdate())
        if likely:
            self.initial["cause"] = likely

    @property
    def before(self) -> str:
        """What it was doing, from the records, to think of while the cause is chosen."""
        day = self.instance.when.middle if self.instance.earliest else timezone.localdate()
        return panels.doing(self.specimen, day)

    def clean(self) -> dict[str, Any]:
        """A body that stands somewhere was kept."""
        data = super().clean()
        if data.get("body_where"):
            data["body_kept"] = True
        return data

    def write(self) -> None:
        """Store the death."""
        self.instance.specimen = self.specimen
        services.record_death(self.instance)

    def remove(self) -> None:
        """It did not die after all."""
        services.remove_death(self.instance)


class HeadLossForm(FuzzyEventForm):
    """Some of a group died."""

    title = "Log deaths in the group"
    submit = "They died"
    left = forms.IntegerField(
        label="how many are left, if you counted", required=False, help_text="A number here is a head count of the day."
    )

    class Meta:
        model = HeadLoss
        fields = ("number", "cause", "post_mortem")
        widgets = {"post_mortem": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 1_000_000, "number")
        limit(self, 0, 1_000_000, "left")
        if self.instance.pk:
            del self.fields["left"]
        self.order_fields(["number", "left", "cause", "post_mortem", "on", "about"])

    def write(self) -> None:
        """Store the deaths, and the count where there was one."""
        self.instance.specimen = self.specimen
        services.record_head_loss(self.instance, self.cleaned_data.get("left"))


class ReturnForm(EventForm):
    """An animal that was lent out or missing is back."""

    title = "Log a return"
    submit = "It is back"

    class Meta:
        model = Departure
        fields = ("on",)

    def write(self) -> None:
        """Close the open departure."""
        away = self.specimen.departures.filter(back_on__isnull=True).first()
        if away is None:
            raise services.Refused(f"{self.specimen.code} is not away.")
        services.record_return(away, self.cleaned_data["on"])


class DepartureForm(EventForm):
    """An animal leaves: passed on, lent or missing."""

    title = "Log a departure"
    submit = "It left"

    class Meta:
        model = Departure
        fields = ("kind", "contact", "price", "back_on", "note")
        widgets = {"back_on": day_widget()}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 1_000_000, "price")
        if self.instance.back_on is None:  # a return is logged by its own form, and corrected here
            del self.fields["back_on"]
        else:
            self.fields["back_on"].help_text = "Empty: it has not come back after all."

    def clean(self) -> dict[str, Any]:
        """Nobody is back tomorrow."""
        data = super().clean() or self.cleaned_data
        self.refuse_future("back_on")
        return data

    def clean_price(self) -> Any:
        """Only what is passed on for good brings something."""
        price = self.cleaned_data.get("price")
        if price is not None and self.cleaned_data.get("kind") != Departure.Kind.PASSED_ON.value:
            raise forms.ValidationError("Only an animal passed on brings a price; leave it empty.")
        return price

    def write(self) -> None:
        """Store the departure."""
        self.instance.specimen = self.specimen
        self.instance.on = self.cleaned_data["on"]
        services.record_departure(self.instance)

    def remove(self) -> None:
        """It did not leave after all."""
        services.remove_departure(self.instance)
