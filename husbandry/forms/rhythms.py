"""Rhythms for all animals of a taxon, or in a place."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone

from collection.forms.base import AHEAD, Ahead, Folding, day_widget, limit
from collection.models import Taxon
from collection.stages import ORDER
from husbandry import rhythm_preview, services
from husbandry.forms.seasons import SEASON_HELP, clean_season, season_fields
from husbandry.models import FeedRhythm, Place


class WideRhythmForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """The keeper's own interval for many animals at once."""

    title = "Rhythm for many"
    submit = "Save"
    ahead_label = "What it would do"
    later = ("season_from", "season_to", "reason")
    place = forms.ModelChoiceField(Place.objects.in_walking_order(), required=False, empty_label="no place: a taxon")
    taxon = forms.ModelChoiceField(Taxon.objects.none(), required=False, empty_label="no taxon: a place")

    class Meta:
        model = FeedRhythm
        fields = ("place", "taxon", "stage", "days", "since", "season_from", "season_to", "reason")
        widgets = {"since": day_widget()}
        help_texts = {
            "days": "0 means: do not ask for them.",
            "season_from": SEASON_HELP,
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kept = Taxon.objects.filter(specimens__isnull=False).distinct()
        self.fields["taxon"].queryset = kept  # type: ignore[attr-defined]
        if self.instance.pk is None:
            self.initial["since"] = timezone.localdate()
        self.fields["stage"] = forms.ChoiceField(
            label="only for",
            choices=[("", "all stages"), *((stage.value, stage.label) for stage in ORDER)],
            required=False,
        )
        limit(self, 0, 400, "days")
        season_fields(self)

    def clean_since(self) -> date:
        """A day that has come: a rhythm is followed from then on."""
        day: date = self.cleaned_data["since"]
        if day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        return day

    def clean(self) -> dict[str, Any]:
        """One place or one taxon."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        clean_season(self, data)
        if bool(data.get("place")) == bool(data.get("taxon")) and not self.errors:
            self.add_error("taxon", "Choose a place or a taxon: one of the two.")
        return data

    def ahead(self) -> Ahead:
        """What it would do to the coming weeks."""
        shown = rhythm_preview.preview(self.instance, timezone.localdate())
        return Ahead("husbandry/_rhythm_ahead.html", {"preview": shown})

    def write(self) -> None:
        """Store the rhythm."""
        services.set_rhythm(self.instance)

    def remove(self) -> None:
        """Take it away."""
        services.remove_rhythm(self.instance)
