"""What the page of survival is asked for."""

from __future__ import annotations

from typing import Any

from django import forms

from collection.lives import BY, CLOCKS, Asked
from collection.models import Specimen, Taxon


class LivesFilter(forms.Form):
    """Which lives, by which clock, in which groups. Bad values are ignored: an old bookmark still opens a page."""

    by = forms.ChoiceField(label="Curves", required=False, choices=list(BY.items()))
    clock = forms.ChoiceField(label="Time is", required=False, choices=list(CLOCKS.items()))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kept = Taxon.objects.filter(pk__in=Specimen.objects.values("taxon").distinct()).values_list("pk", "name")
        choices = [("", "every taxon"), *((str(pk), name) for pk, name in kept)]
        self.fields["taxon"] = forms.ChoiceField(label="Taxon", required=False, choices=choices)

    def asked(self) -> Asked:
        """What was asked for."""
        self.is_valid()
        data = self.cleaned_data
        taxon = data.get("taxon")
        return Asked(data.get("by") or "all", data.get("clock") or "", int(taxon) if taxon else None)
