"""Forms of kin: two animals to compare, and the males that may have sired a sac."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from breeding import kin
from breeding.forms import the_animal
from collection.forms.base import Folding
from collection.models import Specimen
from collection.services import Refused

PART = re.compile(r"(?P<code>.+?)\s*[:=]?\s*(?P<share>\d+(?:[.,]\d+)?)\s*%")


class PickTwo(forms.Form):
    """Two animals by their codes."""

    first = forms.CharField(label="Animal", max_length=40)
    other = forms.CharField(label="Other animal", max_length=40)

    def __init__(self, *args: Any, first: Specimen | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = first
        if first is not None:
            del self.fields["first"]

    def clean_first(self) -> Specimen:
        """One of the two."""
        return the_animal(self.cleaned_data["first"])

    def clean_other(self) -> Specimen:
        """The other."""
        return the_animal(self.cleaned_data["other"])

    def pair(self) -> tuple[Specimen, Specimen]:
        """Both animals."""
        return self.known or self.cleaned_data["first"], self.cleaned_data["other"]


class SiresForm(Folding, forms.Form):
    """Several possible sires, as a keeper writes them: B-002 60 %, B-007 40 %."""

    title = "Its sire"
    submit = "Save"
    male = forms.TypedChoiceField(
        label="was there a male",
        choices=[
            ("", "as usual for the taxon"),
            ("yes", "yes"),
            ("no", "no: young without a male, copies of their dam"),
        ],
        coerce=lambda word: {"yes": False, "no": True}.get(word),
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        help_text="It holds for the whole brood, and kinship follows.",
    )
    sires = forms.CharField(
        label="possible sires",
        required=False,
        max_length=400,
        help_text="Codes with their chances: B-002 60 %, B-007 30 %. What misses to 100 % is an unknown male. "
        "It holds for the whole brood. Empty: none.",
    )

    def __init__(self, *args: Any, specimen: Specimen, **kwargs: Any) -> None:
        self.specimen = specimen
        super().__init__(*args, **kwargs)
        rows = specimen.possible_sires.select_related("male")
        known: dict[bool | None, str] = {False: "yes", True: "no"}
        self.initial["male"] = known.get(specimen.fatherless, "")
        self.initial["sires"] = ", ".join(f"{row.male} {row.chance * 100:g} %" for row in rows)

    def clean_sires(self) -> list[tuple[Specimen, float]]:
        """Each male with his chance; without any number they share alike."""
        parts = [part.strip() for part in re.split(r"[;\n]|,(?!\d)", self.cleaned_data["sires"]) if part.strip()]
        read = [PART.fullmatch(part) for part in parts]
        if any(read) and not all(read):
            missing = next(part for part, found in zip(parts, read, strict=True) if not found)
            raise forms.ValidationError(f"“{missing}” has no chance. Give one for each male, or for none.")
        return [
            (
                the_animal(found["code"] if found else part),
                float(found["share"].replace(",", ".")) / 100 if found else 1 / len(parts),
            )
            for part, found in zip(parts, read, strict=True)
        ]

    def write(self) -> None:
        """Store what was said of the sire."""
        alone, males = self.cleaned_data["male"], self.cleaned_data["sires"]
        if alone and males:
            raise Refused("Either no male, or these: take out one of the two.", "sires")
        named = [(row.male, row.chance) for row in self.specimen.possible_sires.select_related("male")]
        if alone != self.specimen.fatherless and not alone:
            kin.say_fatherless(self.specimen, alone)
        if sorted((male.pk, chance) for male, chance in named) != sorted((male.pk, chance) for male, chance in males):
            kin.name_sires(self.specimen, males)
        if alone and not self.specimen.fatherless:
            kin.say_fatherless(self.specimen, alone)
