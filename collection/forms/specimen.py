"""The register's filters and the particulars of an animal."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import Exists, OuterRef, QuerySet

from collection import panels, services
from collection.forms.base import Folding, limit, read_begun
from collection.models import Specimen, Standing, Status, Taxon, TaxonName
from collection.querysets import HERE as HERE_STATUSES
from collection.querysets import SpecimenQuerySet
from collection.sexing import Verdict
from collection.spreadsheets.names import match_taxon
from collection.stages import Group, Stage

HERE, ALL = "", "all"


class RegisterFilter(forms.Form):
    """What narrows the register. Bad values are ignored: an old bookmark still opens a page."""

    q = forms.CharField(label="Code, name or taxon", required=False, max_length=100)
    group = forms.ChoiceField(required=False, choices=[("", "all groups"), *Group.choices()])
    sex = forms.ChoiceField(
        required=False,
        choices=[
            ("", "any sex"),
            ("males", "males"),
            ("females", "females"),
            ("unsexed", "unsexed"),
            ("conflict", "evidence clashes"),
        ],
    )
    stage = forms.ChoiceField(required=False, choices=[("", "any stage"), *Stage.choices()])
    status = forms.ChoiceField(required=False, choices=[(HERE, "here"), (ALL, "here or not"), *Status.choices[1:]])
    listed = forms.BooleanField(label="listed species only", required=False)
    taxon = forms.IntegerField(required=False, min_value=1, max_value=2**63 - 1, widget=forms.HiddenInput)

    SEXES = {
        "males": Verdict.MALE.value,
        "females": Verdict.FEMALE.value,
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for known in panels.filters.values():
            choices = [("", f"any {known.label}"), *known.choices()]
            self.fields[known.name] = forms.ChoiceField(label=known.label, required=False, choices=choices)

    def narrow(self, found: SpecimenQuerySet) -> QuerySet[Specimen]:
        """The animals that pass every filter.

        What the standing says is asked of each animal in turn: so the register walks along its order and stops after
        a page, where a join would sort all animals first.
        """
        self.is_valid()
        data = self.cleaned_data
        found = found.filter(Exists(self.standings().filter(pk=OuterRef("pk"))))
        if data.get("q"):
            found = found.found_by(data["q"])
        if data.get("group"):
            found = found.filter(taxon__group=data["group"])
        if data.get("listed"):
            found = found.filter(taxon__in=Taxon.objects.filter(listings__isnull=False))
        if data.get("taxon"):
            found = found.filter(taxon=data["taxon"])
        for name, known in panels.filters.items():
            if data.get(name):
                found = known.apply(found, data[name])
        return found

    def only_standing(self) -> bool:
        """Whether nothing but the standing narrows the register; then its rows alone can be counted."""
        other = {"q", "group", "listed", "taxon", *panels.filters}
        return not any(self.cleaned_data.get(name) for name in other)

    def standings(self) -> QuerySet[Standing]:
        """The standings that pass."""
        data = self.cleaned_data
        found = Standing.objects.all()
        status, sex = data.get("status", HERE), data.get("sex", "")
        if status == HERE:
            found = found.filter(status__in=HERE_STATUSES)
        elif status != ALL:
            found = found.filter(status=status)
        if sex in self.SEXES:
            found = found.filter(sex__in=(self.SEXES[sex], f"probably_{self.SEXES[sex]}"))
        elif sex == "unsexed":
            found = found.filter(sex=Verdict.UNSEXED.value, single=True)
        elif sex == "conflict":
            found = found.filter(sex_conflict=True)
        return found.filter(stage=data["stage"]) if data.get("stage") else found


class ReducedDateField(forms.CharField):
    """A date of reduced precision as text: 2025-03-14, 2025-03, 2025 or a range."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=25, **kwargs)

    def clean(self, value: Any) -> Any:
        """The range meant, or None."""
        return read_begun(str(super().clean(value)), "This lies in the future.")


def _keyed(names: Any, key: str) -> dict[str, int]:
    return dict(names.values_list("name", key))


class SpecimenForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """An animal's particulars. What events tell (sex, stage, where it is) is not asked here."""

    title = "Animal"
    submit = "Save"
    later = ("origin", "clutch", "locality", "acquired_from", "arrival", "price", "dam", "sire")
    taxon = forms.CharField(max_length=120, help_text="Its scientific name; an old name works too.")
    hatched = ReducedDateField(label="hatched or born", help_text="2025-03-14, 2025-03 or 2025.")
    acquired = ReducedDateField(label="in the house since")
    dam = forms.CharField(label="dam", required=False, help_text="Her code.")
    sire = forms.CharField(label="sire", required=False, help_text="His code.")

    class Meta:
        model = Specimen
        fields = ("code", "name", "kind", "clutch", "how", "origin", "locality", "acquired_from", "arrival", "price")
        error_messages = {"code": {"unique": "This is the code of another animal. Choose one that was never used."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 1_000_000, "price")
        animal = self.instance
        if animal.pk:
            self.initial["taxon"] = animal.taxon.name
            self.initial["hatched"] = str(animal.hatched or "")
            self.initial["acquired"] = str(animal.acquired or "")
            self.initial["dam"] = animal.dam.code if animal.dam else ""
            self.initial["sire"] = animal.sire.code if animal.sire else ""
        self.order_fields(["code", "taxon", "kind", "name", "hatched", "acquired", "how", "origin"])

    def clean_taxon(self) -> Taxon:
        """The taxon that the name, or an older name, means."""
        text = " ".join(self.cleaned_data["taxon"].split())
        found = Taxon.objects.filter(name__iexact=text).first()
        found = found or Taxon.objects.filter(other_names__name__iexact=text).first()
        if found is None:
            near = match_taxon(text, _keyed(Taxon.objects, "pk"), _keyed(TaxonName.objects, "taxon_id")).suggestion
            hint = f"Did you mean {near}?" if near else "Add it under Papers, Taxa."
            raise forms.ValidationError(f"No taxon is called “{text}”. {hint}")
        return found

    def _parent(self, name: str) -> Specimen | None:
        text = self.cleaned_data[name].strip()
        if not text:
            return None
        found = Specimen.objects.filter(code__iexact=text).first()
        if found is None:
            raise forms.ValidationError(f"No animal is called “{text}”.")
        return found

    def clean_dam(self) -> Specimen | None:
        """The mother."""
        return self._parent("dam")

    def clean_sire(self) -> Specimen | None:
        """The father."""
        return self._parent("sire")

    def clean(self) -> dict[str, Any]:
        """Give the record what the text fields mean."""
        data = super().clean() or self.cleaned_data
        for name in ("taxon", "dam", "sire"):
            if name in data:
                setattr(self.instance, name, data[name])
        for name in ("hatched", "acquired"):
            when = data.get(name)
            setattr(self.instance, f"{name}_earliest", when.earliest if when else None)
            setattr(self.instance, f"{name}_latest", when.latest if when else None)
        hatched, acquired = data.get("hatched"), data.get("acquired")
        if hatched and acquired and acquired.latest < hatched.earliest:
            self.add_error("acquired", "It cannot have come before it hatched.")
        return data

    def write(self) -> None:
        """Store the animal."""
        services.save_specimen(self.instance, "")
