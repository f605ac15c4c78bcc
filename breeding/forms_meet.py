"""Two meet now: whom with, and then to the stopwatch."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from breeding import partners, services
from breeding.forms import the_animal
from breeding.models import Pairing
from collection.forms.base import Folding
from collection.models import Specimen
from collection.services import Refused

OTHER = ""


class MeetForm(Folding, forms.Form):
    """The other animal; the pairing is made, and its log begins."""

    title, submit = "Meet now", "To the stopwatch"
    later = ("cross_reason",)
    partner = forms.ChoiceField(label="with", widget=forms.RadioSelect, required=False)
    other = forms.CharField(label="or another, by its code", max_length=40, required=False)
    cross_reason = forms.CharField(
        label="why animals of two taxa are paired",
        max_length=200,
        required=False,
        help_text="Only then. The young stay marked as hybrids.",
    )

    def __init__(self, *args: Any, specimen: Specimen, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.specimen, self.is_male = specimen, specimen.standing.probably_male
        rows = partners.partners_of(specimen, timezone.localdate())
        choices = [(str(row.specimen.pk), f"{row.specimen.code}: {row.readiness.sentence}") for row in rows]
        if choices:
            self.fields["partner"].choices = [*choices, (OTHER, "another")]  # type: ignore[attr-defined]
            self.fields["partner"].initial = choices[0][0]
        else:
            del self.fields["partner"]
            self.fields["other"].label = "with, by its code"

    def clean(self) -> dict[str, Any]:
        """Two animals that may be paired. A code that was typed goes before the choice above it."""
        data = super().clean() or self.cleaned_data
        typed, chosen = data.get("other", "").strip(), data.get("partner")
        if self.errors:
            return data
        if not typed and not chosen:
            raise forms.ValidationError("Choose one, or write a code: somebody must go in.")
        other = the_animal(typed) if typed else Specimen.objects.for_display().get(pk=str(chosen))
        female, male = (other, self.specimen) if self.is_male else (self.specimen, other)
        self.pairing = Pairing(female=female, male=male, cross_reason=data.get("cross_reason", ""))
        try:
            services.check_pair(self.pairing)
            services.refuse_absent(self.pairing, timezone.localdate())
        except Refused as refusal:
            self.add_error("other", str(refusal))
        return data

    def write(self) -> None:
        """Make the pairing, unless these two have one that runs or was planned."""
        known = services.running_pairing(self.pairing.female, self.pairing.male)
        if known is None:
            self.pairing.planned_for = timezone.localdate()
            services.record_pairing(self.pairing)
        self.pairing = known or self.pairing
