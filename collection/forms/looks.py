"""Sex evidence of a tray: one method for all, a tap an animal for what was seen, one entry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from collection import evidence
from collection.forms.base import SIZES_MM, limit
from collection.forms.evidence import MAGNIFIED, SKINS, SPIDERS
from collection.forms.trays import TrayForm, named
from collection.models import Molt, SexEvidence, Specimen
from collection.sexing import Finding, Method, cells_of, finding_of_count
from collection.stages import Group

SIZED = {Method.EXUVIA, Method.VENTRAL}  # what their size decides how well they tell
MOST_TEETH = 60


@dataclass(frozen=True)
class Row:
    """One animal: its cells, the skin that a look would be of, what was last seen in the same way, what is folded."""

    animal: Specimen
    cells: forms.BoundField
    counted: forms.BoundField | None
    skin: Molt | None
    seen: SexEvidence | None
    folded: list[forms.BoundField]
    open: bool

    @property
    def errors(self) -> list[str]:
        """What is refused of what is tapped or counted; what is folded shows its own."""
        fields = [self.cells, *([self.counted] if self.counted else [])]
        return [str(said) for field in fields for said in field.errors]

    @property
    def wrong(self) -> bool:
        """Whether anything of this row is refused."""
        return bool(self.errors) or any(field.errors for field in self.folded)


class ManyLooksForm(TrayForm):
    """What was seen of many animals, looked at in one way. Only those that are tapped are written."""

    lens = forms.ChoiceField(
        label="Looked with",
        required=False,
        choices=[("", "the naked eye"), *SexEvidence.Lens.choices],
        widget=forms.RadioSelect,
    )
    looked_by = forms.CharField(label="who looked, if not you", required=False, max_length=60)
    rows_say = "looked at on"
    behind = ("d", "t", "u", "s")

    def __init__(
        self,
        *args: Any,
        animals: Sequence[Specimen],
        method: Method,
        group: Group,
        molts: Mapping[int, Sequence[Molt]],
        seen: Mapping[int, SexEvidence],
        lens: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, animals=animals, **kwargs)
        self.method, self.group, self.molts, self.seen = method, group, molts, seen
        self.cells = cells_of(method)
        self.fields["lens"].initial = lens
        if method not in MAGNIFIED:
            del self.fields["lens"]
        for animal in animals:
            self._add(animal)

    def _add(self, animal: Specimen) -> None:
        """The fields of one animal, as far as the method asks for them."""
        choices = [("", "not looked at"), *((cell.finding.value, cell.word) for cell in self.cells)]
        own: dict[str, forms.Field] = {
            "a": forms.ChoiceField(label=animal.code, choices=choices, widget=forms.RadioSelect, required=False)
        }
        if self.method is Method.PECTINES:
            own["n"] = forms.IntegerField(label="teeth of one comb", required=False)
        if self.method in SKINS:
            own["t"] = forms.BooleanField(label="the skin was torn", required=False)
        own["u"] = forms.BooleanField(label="not sure of what was seen", required=False)
        if self.method in SIZED and self.group in SPIDERS:
            own["s"] = forms.FloatField(label="leg span then, mm", required=False)
        for prefix, field in own.items():
            self.fields[named(prefix, animal)] = field
        for prefix, limits in (("n", (1, MOST_TEETH)), ("s", SIZES_MM)):
            if prefix in own:
                limit(self, *limits, named(prefix, animal))

    def rows(self) -> list[Row]:
        """Each animal with what is tapped of it."""
        return [self._row(animal) for animal in self.animals]

    def _row(self, animal: Specimen) -> Row:
        counted = self[named("n", animal)] if named("n", animal) in self.fields else None
        molts = self.molts.get(animal.pk, ())
        skin = molts[-1] if molts and self.method in SKINS else None
        seen = self.seen.get(animal.pk)
        return Row(animal, self[named("a", animal)], counted, skin, seen, self.folded(animal), self.unfolded(animal))

    def clean(self) -> dict[str, Any]:
        """Somebody was looked at; a count agrees with the finding; what is folded behind a row belongs to a look."""
        data = super().clean()
        if self.errors:
            return data
        self.looks = [look for animal in self.animals if (look := self._look_of(animal))]
        if not self.looks and not self.errors:
            raise forms.ValidationError("Nothing is tapped. Tap what you saw of each that you looked at.")
        return data

    def _said(self, prefix: str, animal: Specimen) -> Any:
        return self.cleaned_data.get(named(prefix, animal))

    def _look_of(self, animal: Specimen) -> SexEvidence | None:
        """The evidence that this form says of one animal."""
        finding = self._finding(animal)
        if finding is None:
            if any(self._said(prefix, animal) for prefix in self.behind):
                self.add_error(named("a", animal), "Tap what you saw, or take back what is folded behind it.")
            return None
        when = self.when_of(animal)
        skin = self._skin(animal, when.latest)
        cell = next((one for one in self.cells if one.finding is finding), None)
        return SexEvidence(
            specimen=animal,
            earliest=when.earliest,
            latest=when.latest,
            method=self.method.value,
            finding=finding.value,
            counted=self._said("n", animal) or (cell.counted if cell else None),
            confident=not self._said("u", animal),
            intact=not self._said("t", animal),
            size_mm=self._size(animal, skin),
            instar_then=self._instar(animal, when.latest) if self.method is Method.SEGMENTS else None,
            lens=self.cleaned_data.get("lens", ""),
            looked_by=self.cleaned_data["looked_by"],
            molt=skin,
        )

    def _finding(self, animal: Specimen) -> Finding | None:
        """What was tapped, or what the count comes to; the two must agree."""
        tapped, counted = self._said("a", animal), self._said("n", animal)
        taxon = animal.taxon
        told = counted and finding_of_count(
            self.method,
            counted,
            (taxon.pectines_female_min, taxon.pectines_female_max),
            (taxon.pectines_male_min, taxon.pectines_male_max),
        )
        if told and tapped and told.value != tapped:
            self.add_error(named("n", animal), f"{counted} says {told.label} here, not {tapped}. Check the count.")
        elif counted and not told and not tapped:
            said = "No range is on record for this taxon, so the count alone says nothing: tap what it looks like."
            self.add_error(named("n", animal), said)
        return told or (Finding(tapped) if tapped else None)

    def _skin(self, animal: Specimen, day: date) -> Molt | None:
        """The skin of the last molt before the look."""
        if self.method not in SKINS:
            return None
        return next((molt for molt in reversed(self.molts.get(animal.pk, ())) if molt.earliest <= day), None)

    def _size(self, animal: Specimen, skin: Molt | None) -> float | None:
        """The size given for the look, else the skin's own, else the animal's last; of spiders alone."""
        if self.method not in SIZED or self.group not in SPIDERS:
            return None
        given: float | None = self._said("s", animal)
        return given or (skin.leg_span_mm if skin else None) or animal.standing.size_mm

    def _instar(self, animal: Specimen, day: date) -> int | None:
        """The instar it had that day, as its molts say it in the group's own order."""
        before = (molt for molt in reversed(self.molts.get(animal.pk, ())) if molt.earliest <= day)
        return next((step for molt in before if (step := molt.step(self.group)) is not None), None)

    def write(self) -> None:
        """Append them all, or none."""
        evidence.record_many(self.looks)
