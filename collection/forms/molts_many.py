"""The molts of a tray: a tap each, one entry for all."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection import services
from collection.forms.base import SIZES_MM, limit
from collection.forms.molts import next_numbering
from collection.forms.trays import TrayForm, named
from collection.instars import Convention, conventions_for, label, leaving
from collection.models import GroupCount, How, Molt, Specimen, SpecimenKind
from collection.skins import BODY, LEG_SPAN, measures_for
from collection.stages import Group

FIRST_MOLT_WITHIN = timedelta(days=150)  # assumption: so long after hatching a molt may still be the first here


class ManyMoltsForm(TrayForm):
    """The molts of many animals: tick those that molted; of a group, write how many."""

    everyone = forms.BooleanField(label="all of them molted", required=False)
    kept = forms.BooleanField(label="their exuviae are kept", required=False)
    first = forms.IntegerField(label="instar now, where none is on record", required=False)
    rows_say = "molted on"
    behind = ("d", "m")

    def __init__(self, *args: Any, animals: Sequence[Specimen], last: dict[int, Molt], **kwargs: Any) -> None:
        super().__init__(*args, animals=animals, **kwargs)
        limit(self, 1, 60, "first")
        self.last = last
        groups = [animal.pk for animal in animals if animal.kind != SpecimenKind.SINGLE.value]
        self.counted = set(GroupCount.objects.filter(specimen__in=groups).values_list("specimen_id", flat=True))
        for animal in animals:
            self.fields[named("a", animal)] = self._field_of(animal)
            if animal.kind == SpecimenKind.SINGLE.value:
                self.fields[named("m", animal)] = _size_of(animal)
                limit(self, *SIZES_MM, named("m", animal))
        self._offer_first()

    def _field_of(self, animal: Specimen) -> forms.Field:
        if animal.kind == SpecimenKind.SINGLE.value:
            return forms.BooleanField(label=animal.code, required=False)
        heads = animal.standing.head_count if animal.pk in self.counted else None
        return forms.IntegerField(
            label=animal.code,
            required=False,
            min_value=1,
            max_value=heads,
            error_messages={
                "max_value": f"{animal.code} holds {heads} by the last count.",
                "min_value": "Write how many molted, or leave it empty.",
            },
            widget=forms.NumberInput(attrs={"placeholder": f"of {heads}" if heads else "how many"}),
        )

    def _offer_first(self) -> None:
        """Asked only where somebody has no instar on record; of young just housed it is known where they begin."""
        self.uncounted = [animal for animal in self.animals if not _counts(self.last.get(animal.pk))]
        groups = {animal.taxon.group for animal in self.uncounted}
        if len(groups) != 1 or not all(_just_housed(animal) for animal in self.uncounted):
            return
        group = Group(groups.pop())
        number, convention = leaving(group), conventions_for(group)[0][0]
        if number is not None:
            self.fields["first"].initial = number + 1
            now, then = (label(group, one, Convention(convention)) for one in (number, number + 1))
            self.fields["first"].help_text = f"They were housed at {now}, so their first molt here makes {then}."

    def rows(self) -> list[tuple[Specimen, forms.BoundField, Molt | None, list[forms.BoundField], bool]]:
        """Each animal with its field, its last molt, and what is folded behind it."""
        return [
            (one, self[named("a", one)], self.last.get(one.pk), self.folded(one), self.unfolded(one))
            for one in self.animals
        ]

    def clean(self) -> dict[str, Any]:
        """Somebody must have molted, on a day that is given, not twice on it, and after all that is on record."""
        data = super().clean()
        if self.errors:
            return data
        self.molts = [molt for animal in self.animals if (molt := self._molt_of(animal))]
        if not self.molts and not self.errors:
            raise forms.ValidationError("Nobody is ticked. Tap those that molted.")
        self._refuse_twice()
        self._refuse_before()
        return data

    def _molt_of(self, animal: Specimen) -> Molt | None:
        """The molt that this form says of one animal, an instar further than its last."""
        said = self.cleaned_data.get(named("a", animal))
        single = animal.kind == SpecimenKind.SINGLE.value
        size = self.cleaned_data.get(named("m", animal))
        more = self.cleaned_data.get(named("d", animal)) or size
        if not said and more and not single:
            self.add_error(named("a", animal), "Write how many molted that day.")
        if single and (self.cleaned_data["everyone"] or more):
            said = True  # a day or a size of its own is said of one that molted
        if not said:
            return None
        last, when = self.last.get(animal.pk), self.when_of(animal)
        molt = Molt(
            specimen=animal,
            earliest=when.earliest,
            latest=when.latest,
            animals=None if single else said,
            instar=last.instar + 1 if last is not None and last.instar else self.cleaned_data["first"],
            numbering=next_numbering(animal, last),
            exuvia_kept=True if self.cleaned_data["kept"] else None,
        )
        if size:
            setattr(molt, _measure(animal), size)
        return molt

    def _refuse_twice(self) -> None:
        singles = {molt.specimen_id: molt for molt in self.molts if molt.animals is None}
        known = Molt.objects.filter(specimen__in=singles).values_list("specimen_id", "earliest", "latest")
        for pk, earliest, latest in known:
            molt = singles[pk]
            own = named("a", molt.specimen)
            if (molt.earliest, molt.latest) == (earliest, latest) and own not in self.errors:
                self.add_error(own, f"A molt of {molt.specimen.code} on this day is on record already.")

    def _refuse_before(self) -> None:
        """A molt between others moves the instars after it: that is said on the animal's own page."""
        for molt in self.molts:
            last, own = self.last.get(molt.specimen_id), named("a", molt.specimen)
            if last is not None and molt.latest < last.earliest and own not in self.errors:
                said = f"{molt.specimen.code} molted later, on {last.when}. Log an earlier molt on its own page."
                self.add_error(own, said)

    def write(self) -> None:
        """Store them all, or none."""
        animals = sum(molt.animals or 1 for molt in self.molts)
        services.record_molts(self.molts, f"{animals} molt{'' if animals == 1 else 's'}")


def _counts(last: Molt | None) -> bool:
    return last is not None and last.instar is not None


def _just_housed(animal: Specimen) -> bool:
    """Bred here, out of the sac not long ago, with no molt on record: the next one is its first here."""
    hatched = animal.hatched
    recent = hatched is not None and timezone.localdate() - hatched.earliest <= FIRST_MOLT_WITHIN
    return animal.how == How.BRED.value and recent and animal.standing.last_molt is None


def _measure(animal: Specimen) -> str:
    """The measure that a look over the cup gives: leg span where the group has one, else the body."""
    return LEG_SPAN if LEG_SPAN in measures_for(Group(animal.taxon.group)) else BODY


def _size_of(animal: Specimen) -> forms.Field:
    word = measures_for(Group(animal.taxon.group))[_measure(animal)]
    return forms.FloatField(label=f"{word}, mm", required=False)
