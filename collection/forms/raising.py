"""What the keeper believes and wants, for the question how many young to keep. All of it stands in the address."""

from __future__ import annotations

from typing import Any

from django import forms

from collection.forms.base import limit
from collection.models import Specimen, Taxon

BELIEFS: dict[str, tuple[str, float | tuple[float, float]]] = {
    "even": ("half of them, taken as certain", 0.5),
    "near": ("about half, within a little", (50.0, 50.0)),
    "likely": ("probably about half, but this brood may differ", (10.0, 10.0)),
    "open": ("any share is as likely as any other", (1.0, 1.0)),
    "own": ("as I say below", (0.0, 0.0)),
}
DEFAULTS = {"females": "1", "males": "1", "confidence": "95", "belief": "likely", "survival": "70", "months": "24"}


class RaisingForm(forms.Form):
    """How many of each, how sure, how many live, and what share is female."""

    females = forms.IntegerField(label="Females wanted")
    males = forms.IntegerField(label="Males wanted")
    confidence = forms.FloatField(label="How sure, %")
    survival = forms.FloatField(label="How many live to be used, %")
    belief = forms.ChoiceField(
        label="What share is female",
        choices=[(key, words) for key, (words, _) in BELIEFS.items()],
        help_text="Parity was found at three temperatures in one baboon spider; of most taxa nothing is published.",
    )
    seen_females = forms.FloatField(label="Own belief: females among", required=False)
    seen_males = forms.FloatField(label="and males among those sexed", required=False)
    young = forms.IntegerField(label="Young there are", required=False)
    months = forms.FloatField(label="Raised for, months", required=False)
    taxon = forms.ModelChoiceField(Taxon.objects.all(), required=False, widget=forms.HiddenInput)
    dam = forms.ModelChoiceField(Specimen.objects.for_display(), required=False, widget=forms.HiddenInput)
    clutch = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 50, "females", "males")
        limit(self, 1, 99.99, "confidence")
        limit(self, 1, 100, "survival")
        limit(self, 0.1, 100_000, "seen_females", "seen_males")
        limit(self, 1, 100_000, "young")
        limit(self, 1, 480, "months")

    def clean(self) -> dict[str, Any]:
        """An own belief needs both of its numbers."""
        data = super().clean() or self.cleaned_data
        if data.get("belief") == "own":
            for name in ("seen_females", "seen_males"):
                if not data.get(name) and name not in self.errors:
                    self.add_error(name, "Give both numbers: how many females and how many males you go by.")
        return data

    def share(self) -> float | tuple[float, float]:
        """The belief as a share, or the two numbers of a Beta distribution."""
        if self.cleaned_data["belief"] == "own":
            return self.cleaned_data["seen_females"], self.cleaned_data["seen_males"]
        return BELIEFS[self.cleaned_data["belief"]][1]


class TrayForm(forms.Form):
    """A tray in which so many are males, but nobody knows which."""

    total = forms.IntegerField(label="Animals in the tray", required=False)
    known_males = forms.IntegerField(label="Males among them", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 2, 100_000, "total")
        limit(self, 0, 100_000, "known_males")
