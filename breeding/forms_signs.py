"""The form of one row of the table of signs."""

from __future__ import annotations

from typing import Any

from django import forms

from breeding.sign_table import set_ratio
from breeding.signs import DEFAULT, LEAST, MOST, WORDS, SignWeight
from collection.forms.base import limit


class SignRatioForm(forms.Form):
    """By how much one sign multiplies the odds, and why."""

    submit = "Weigh by this"

    ratio = forms.FloatField(
        label="Odds of a brood within 30 days, times",
        help_text="Above 1 it speaks for a brood, below 1 against it: how much oftener the sign is seen before one.",
    )
    because = forms.CharField(
        label="Why, and where it comes from",
        max_length=160,
        help_text="It stands beside the ratio wherever it is used.",
    )

    def __init__(self, *args: Any, sign: str, now: SignWeight, **kwargs: Any) -> None:
        self.sign = sign
        super().__init__(*args, **kwargs)
        self.title = f"How a sign is weighed: {WORDS[sign]}"
        limit(self, LEAST, MOST, "ratio")
        self.fields["ratio"].initial = now.ratio
        self.fields["because"].initial = "" if now == DEFAULT[sign] else now.why

    def write(self) -> None:
        """Store the row; every chance that rests on it follows."""
        set_ratio(self.sign, SignWeight(self.cleaned_data["ratio"], self.cleaned_data["because"]))
