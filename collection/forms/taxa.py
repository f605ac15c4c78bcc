"""The list's filter, and a taxon's own page to fill in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from collection import taxa
from collection.forms.base import day_widget
from collection.models import Listing, Taxon, TaxonName
from collection.stages import Group, Lifestyle
from collection.taxon_figures import SAC_KINDS
from collection.taxon_fixture import FIGURES

PAIRS = [
    ("adult_size_min_mm", "adult_size_max_mm"),
    ("humidity_min", "humidity_max"),
    ("celsius_min", "celsius_max"),
    ("sac_months_min", "sac_months_max"),
    ("emergence_weeks_min", "emergence_weeks_max"),
    ("clutch_min", "clutch_max"),
    ("pectines_female_min", "pectines_female_max"),
    ("pectines_male_min", "pectines_male_max"),
]
LIMITS = {"adult_size": (0.5, 500), "humidity": (0, 100), "celsius": (-5, 50), "sac_months": (0, 36)}
LIMITS |= dict.fromkeys(("pectines", "pectines_female"), (1, 60))
SECTIONS = [
    ("Name", ("name", "authorship", "rank", "common_name", "other_names", "family", "group")),
    (
        "Care",
        (
            *("lifestyle", "lifestyle_note", "range_note", "size_measure", "adult_size_min_mm", "adult_size_max_mm"),
            *("humidity_min", "humidity_max", "celsius_min", "celsius_max", "life_female", "life_male", "slow"),
        ),
    ),
    (
        "Breeding",
        (
            *("sac_months_min", "sac_months_max", "emergence_weeks_min", "emergence_weeks_max"),
            *("clutch_min", "clutch_max", "sac_kind", "parthenogenetic"),
        ),
    ),
    (
        "What tells the sexes apart",
        (
            *("hookless", "no_spermathecae", "no_epigyne", "dimorphism"),
            *("pectines_female_min", "pectines_female_max", "pectines_male_min", "pectines_male_max"),
        ),
    ),
    ("Cautions", ("venom_class", "hair_class", "hazard_note")),
    ("Source", ("because",)),
]
OWN = {"other_names", "because"}  # not columns of the record


class TaxonFilter(forms.Form):
    """What narrows the list. Bad values are ignored: an old bookmark still opens a page."""

    q = forms.CharField(label="Name, old name or common name", required=False, max_length=100)
    group = forms.ChoiceField(label="Group", required=False, choices=[("", "all groups"), *Group.choices()])
    kept = forms.BooleanField(label="kept here only", required=False)


class TaxonForm(forms.ModelForm):  # type: ignore[type-arg]
    """A taxon with its defaults. A figure that is changed here gets the source given here."""

    title = "Taxon"
    submit = "Save"

    other_names = forms.CharField(
        label="Other names, one a line",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Synonyms and trade names; a row or a form that uses one finds this taxon.",
    )
    because = forms.CharField(
        label="Where your figures come from",
        required=False,
        max_length=120,
        help_text="Kept as the source of every figure you change.",
    )

    class Meta:
        model = Taxon
        fields = [name for _, names in SECTIONS for name in names if name not in OWN]
        widgets = {
            "sac_kind": forms.Select(choices=[("", "–"), *SAC_KINDS.items()]),
            "lifestyle": forms.Select(choices=[("", "–"), *Lifestyle.choices()]),
        }
        help_texts = {
            "hookless": "Then not seeing hooks says nothing of the sex. As in Theraphosa or Poecilotheria.",
            "no_spermathecae": "Then an exuvia without them says nothing. As in Sickius (J. Arachnol. 36:331, 2008).",
            "no_epigyne": "Then the epigyne is not offered as evidence. As in haplogyne families.",
            "dimorphism": "Empty: colour and shape are not offered as evidence.",
            "pectines_female_min": "Teeth of one comb. Inside both ranges a count says nothing; inside one it tells.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, value in self.initial.items():
            if isinstance(value, float) and value.is_integer():
                self.initial[name] = int(value)  # 140, not 140.0
        if self.instance.pk:
            self.initial["other_names"] = "\n".join(self.instance.other_names.values_list("name", flat=True))

    def sections(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields in groups, as the page shows them."""
        return [(title, [self[name] for name in names]) for title, names in SECTIONS]

    def clean_name(self) -> str:
        """One name, one taxon."""
        name = " ".join(self.cleaned_data["name"].split())
        same = Taxon.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).first()
        other = TaxonName.objects.filter(name__iexact=name).exclude(taxon=self.instance.pk).first()
        if same is not None:
            raise forms.ValidationError(f"{same.name} is in the list already.")
        if other is not None:
            raise forms.ValidationError(f"This is another name of {other.taxon}. Take it off there first.")
        return name

    def clean_other_names(self) -> list[str]:
        """Names that lead nowhere else."""
        names = [" ".join(line.split()) for line in self.cleaned_data["other_names"].splitlines()]
        names = list(dict.fromkeys(name for name in names if name))
        for name in names:
            own = Taxon.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).first()
            taken = TaxonName.objects.filter(name__iexact=name).exclude(taxon=self.instance.pk).first()
            if own is not None:
                raise forms.ValidationError(f"“{name}” is a taxon of its own in the list.")
            if taken is not None:
                raise forms.ValidationError(f"“{name}” leads to {taken.taxon} already.")
            if len(name) > 120:
                raise forms.ValidationError(f"“{name[:40]}…” is too long for a name: at most 120 letters.")
        return names

    def clean(self) -> dict[str, Any]:
        """Ranges run upwards and stay within what such an animal can have."""
        data = super().clean() or self.cleaned_data
        for low, high in PAIRS:
            self._check_range(data.get(low), data.get(high), low, high)
        return data

    def _check_range(self, low: float | None, high: float | None, low_name: str, high_name: str) -> None:
        least, most = LIMITS.get(low_name.partition("_m")[0], (0, 100_000))
        for name, value in ((low_name, low), (high_name, high)):
            if value is not None and not least <= value <= most:
                self.add_error(name, f"This must lie between {least:g} and {most:g}.")
        if low is not None and high is not None and low > high:
            self.add_error(high_name, f"The range ends at {high:g}, before it begins at {low:g}.")

    def write(self) -> None:
        """Store the taxon, note where changed figures come from, and work out anew what hangs on them."""
        source = self.cleaned_data["because"].strip() or "the keeper's own"
        for figure, fields in FIGURES.items():
            if any(field in self.changed_data for field in fields):
                self.instance.sources[figure] = f"{source}, {timezone.localdate()}"
        taxa.save(self.instance, self.cleaned_data["other_names"])


class ListingForm(forms.ModelForm):  # type: ignore[type-arg]
    """One protection listing, always with the day on which it was looked up."""

    class Meta:
        model = Listing
        fields = ("scheme", "entry", "since", "as_of", "note")
        widgets = {"since": day_widget(), "as_of": day_widget()}


ListingFormSet = forms.inlineformset_factory(Taxon, Listing, form=ListingForm, extra=1)
