"""Forms for meals, water, moves, rhythms and holds of one animal."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection.forms.base import AHEAD, Ahead, EventForm, day_widget, limit
from collection.stages import Group, Stage
from husbandry import prey, rhythm_preview, services
from husbandry.feeding import prey_limit_of
from husbandry.forms.seasons import SEASON_HELP, clean_season, season_fields
from husbandry.models import Enclosure, Feeding, FeedRhythm, Hold, Upkeep
from husbandry.prey import KINDS
from husbandry.rhythm import HoldKind, Outcome

PREY = (*KINDS, "pre-killed")


AHEAD_AT_MOST = timedelta(days=366)
PLANNED = (HoldKind.COOLING.value, HoldKind.OTHER.value)  # holds that are entered before they begin


class PreyInput(forms.TextInput):
    """A text field that offers the usual feeders."""

    template_name = "husbandry/_prey_input.html"

    def __init__(self) -> None:
        super().__init__(attrs={"list": "feeders", "autocomplete": "off"})

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """The feeders as a list that the browser offers."""
        context: dict[str, Any] = super().get_context(name, value, attrs)
        context["prey"] = PREY
        return context


class FeedingForm(EventForm):
    """A meal offered, and what became of it."""

    title = "Log a meal"
    later = ("number", "note")

    class Meta:
        model = Feeding
        fields = ("outcome", "prey", "prey_mm", "number", "note")
        widgets = {
            "outcome": forms.RadioSelect(choices=[(o.value, o.label) for o in Outcome]),
            "prey": PreyInput,
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0.1, 300, "prey_mm")
        limit(self, 1, 10_000, "number")
        self.fields["outcome"].initial = Outcome.TAKEN.value
        last = self.specimen.feedings.first()
        if last is not None:
            self.fields["prey"].initial = last.prey
            self.fields["prey_mm"].initial = last.prey_mm
        taxon, stage = self.specimen.taxon, Stage(self.specimen.standing.stage)
        self.fields["prey"].help_text = prey.say_prey(Group(taxon.group), stage, prey_limit_of(self.specimen))

    def write(self) -> None:
        """Store the meal."""
        self.instance.specimen = self.specimen
        self.instance.on = self.cleaned_data["on"]
        services.record_feeding(self.instance)


class WaterForm(EventForm):
    """Water, misting and the other upkeep of the enclosure an animal stands in."""

    title = "Log upkeep"
    submit = "Done"
    animal_field = "enclosure__stays__specimen"

    class Meta:
        model = Upkeep
        fields = ("kind", "note")

    def clean(self) -> dict[str, Any]:
        """Upkeep belongs to an enclosure."""
        data = super().clean() or self.cleaned_data
        if not self.instance.pk:
            enclosure = services.enclosure_of(self.specimen)
            if enclosure is None:
                raise forms.ValidationError(f"{self.specimen.code} stands in no enclosure yet. Move it into one first.")
            self.instance.enclosure = enclosure
        return data

    def write(self) -> None:
        """Store the upkeep."""
        self.instance.on = self.cleaned_data["on"]
        services.record_upkeep(self.instance)

    def remove(self) -> None:
        """Take it away, for all who live there."""
        services.remove_upkeep(self.instance)


class MoveForm(EventForm):
    """Into another enclosure."""

    title = "Move"
    submit = "Moved"
    enclosure = forms.CharField(label="into enclosure", max_length=40, help_text="Its code or tag.")
    companion = forms.BooleanField(label="put together on purpose", required=False)

    class Meta:
        model = Enclosure
        fields: tuple[str, ...] = ()

    def clean_enclosure(self) -> Enclosure:
        """The enclosure that the code or tag means."""
        text = self.cleaned_data["enclosure"].strip()
        found = Enclosure.objects.in_use().filter(code__iexact=text).first()
        found = found or Enclosure.objects.in_use().filter(tag=text.upper().replace(" ", "")).first()
        if found is None:
            raise forms.ValidationError(f"No enclosure is called “{text}”. Add it under Racks first.")
        return found

    def write(self) -> None:
        """Close the old stay and open the new."""
        data = self.cleaned_data
        services.move(self.specimen, data["enclosure"], data["on"], companion=data["companion"])


class RhythmForm(EventForm):
    """The keeper's own feeding interval."""

    title = "Set the feeding rhythm"
    ahead_label = "What it would do"
    day_field = "since"
    later = ("season_from", "season_to")

    class Meta:
        model = FeedRhythm
        fields = ("days", "reason", "season_from", "season_to")
        help_texts = {"days": "0 means: do not ask for this animal.", "season_from": SEASON_HELP}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 400, "days")
        season_fields(self)

    def clean(self) -> dict[str, Any]:
        """A season has two ends."""
        data = super().clean() or self.cleaned_data
        clean_season(self, data)
        return data

    def proposed(self) -> FeedRhythm:
        """The rhythm as it would be stored."""
        rhythm: FeedRhythm = self.instance
        rhythm.specimen, rhythm.since = self.specimen, self.cleaned_data["on"]
        return rhythm

    def ahead(self) -> Ahead:
        """What it would do to the coming weeks."""
        shown = rhythm_preview.preview(self.proposed(), timezone.localdate())
        return Ahead("husbandry/_rhythm_ahead.html", {"preview": shown})

    def write(self) -> None:
        """Store the rhythm, in force from the day given."""
        services.set_rhythm(self.proposed())


class HoldForm(EventForm):
    """No food for a while, and why."""

    title = "Hold feeding"
    day_field = "begins"

    class Meta:
        model = Hold
        fields = ("kind", "ends", "reason")
        widgets = {"ends": day_widget()}
        help_texts = {"ends": "The first day of feeding again. Leave it empty when that is not known."}

    def clean_on(self) -> date:
        """A day; that of a winter rest, or of another plan, may lie ahead."""
        day: date = self.cleaned_data["on"] or timezone.localdate()
        if self.data.get("kind") not in PLANNED and day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        if day > timezone.localdate() + AHEAD_AT_MOST:
            raise forms.ValidationError("This lies more than a year ahead. Enter it when it comes nearer.")
        return day

    def clean_ends(self) -> Any:
        """The end lies after the beginning."""
        ends = self.cleaned_data["ends"]
        begins = self.cleaned_data.get("on") or timezone.localdate()
        if ends is not None and ends <= begins:
            how = "on the day" if ends == begins else "before"
            raise forms.ValidationError(f"The hold would end {how} it begins, and hold nothing.")
        return ends

    def write(self) -> None:
        """Store the hold."""
        self.instance.specimen = self.specimen
        self.instance.begins = self.cleaned_data["on"]
        services.set_hold(self.instance)
