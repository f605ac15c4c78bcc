"""Forms for molts: one animal, one sign, a whole tray."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection import services
from collection.dates import FuzzyDate
from collection.forms.base import SIZES_MM, FuzzyEventForm, limit, read_begun
from collection.instars import Convention, conventions_for
from collection.models import GroupCount, Molt, MoltSign, Specimen, SpecimenKind, Went
from collection.premolt import signs_for
from collection.skins import BODY, CARAPACE, LEG_SPAN, measures_for
from collection.stages import Group

MALES_MATURE = {Group.TARANTULA, Group.TRUE_SPIDER}  # whose males show it at one molt, by bulbs and hooks


def numbering_choices(group: Group) -> list[tuple[str, str]]:
    """The conventions that this group is counted in."""
    return [(key.value, f"{key.label} ({says})" if says else key.label) for key, says in conventions_for(group)]


def next_numbering(specimen: Specimen, last: Molt | None) -> str:
    """The convention the keeper used last, else the group's first."""
    return last.numbering if last is not None else conventions_for(Group(specimen.taxon.group))[0][0].value


class MoltForm(FuzzyEventForm):
    """A molt: date today, instar one up, exuvia kept; the rest later."""

    title = "Log a molt"
    submit = "Molted"
    later = (
        "about", "numbering", "carapace_mm", "leg_span_mm", "body_mm", "on_skin", "matured", "went", "condition",
        "exuvia_place", "exuvia_note",
    )  # fmt: skip

    class Meta:
        model = Molt
        fields = (
            "animals", "instar", "numbering", "exuvia_kept", "carapace_mm", "leg_span_mm", "body_mm", "on_skin",
            "matured", "went", "condition", "exuvia_place", "exuvia_note",
        )  # fmt: skip
        widgets = {"exuvia_kept": forms.RadioSelect(choices=[(True, "kept"), (False, "not kept"), ("", "not found")])}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        group = Group(self.specimen.taxon.group)
        limit(self, 1, 60, "instar")
        self._own_measures(group)
        self._own_kind(group)
        last = self.specimen.molts.exclude(instar=None).first()
        if self.instance.pk:
            self._keep_stored_numbering()
            return
        numbering = next_numbering(self.specimen, last)
        self.fields["numbering"].initial = numbering
        self.fields["instar"].help_text = f"{Convention(numbering).label[0].upper()}{Convention(numbering).label[1:]}."
        if last is not None and last.instar is not None and "animals" not in self.fields:
            self.fields["instar"].initial = last.instar + 1
        elif last is not None:
            self.fields["instar"].initial = last.instar

    def _own_measures(self, group: Group) -> None:
        """The measures of this group in its own words; a mantis has no leg span to give."""
        words = measures_for(group)
        for name in (CARAPACE, LEG_SPAN, BODY):
            if name in words:
                self.fields[name].label = f"{words[name]}, mm"
                limit(self, *SIZES_MM, name)
            elif getattr(self.instance, name) is None:
                del self.fields[name]
        self.fields["on_skin"].help_text = "A shed skin has the size of the instar before, and counts as that."

    def _own_kind(self, group: Group) -> None:
        """A group is asked how many; a molt to maturity is only asked where one shows."""
        self.fields["numbering"].choices = numbering_choices(group)  # type: ignore[attr-defined]
        self.fields["went"].choices = [("", "not said"), *Went.choices]  # type: ignore[attr-defined]
        if self.specimen.kind == SpecimenKind.SINGLE.value:
            del self.fields["animals"]
            if group not in MALES_MATURE and not self.instance.matured:
                del self.fields["matured"]
            return
        limit(self, 1, 100_000, "animals")
        self.fields["animals"].required = True
        counted = self.specimen.counts.exists()
        of = f"Of {self.specimen.standing.head_count}, to" if counted else "To"
        self.fields["animals"].help_text = f"{of} the same instar."
        for name in ("matured", "went", "on_skin"):
            del self.fields[name]

    def _keep_stored_numbering(self) -> None:
        """A convention that was stored stays a choice, whatever the group uses now."""
        field: Any = self.fields["numbering"]
        stored = self.instance.numbering
        if stored not in dict(field.choices):
            field.choices = [(stored, Convention(stored).label), *field.choices]

    def clean(self) -> dict[str, Any]:
        """One molt a day of one animal, and none after the end."""
        data = super().clean()
        same = self.specimen.molts.filter(
            earliest=self.instance.earliest, latest=self.instance.latest, animals__isnull=True
        )
        if self.instance.earliest and "animals" not in self.fields and same.exclude(pk=self.instance.pk).exists():
            self.add_error("on", "A molt on this day is on record already.")
        return data

    def write(self) -> None:
        """Store the molt."""
        self.instance.specimen = self.specimen
        services.record_molt(self.instance)

    def remove(self) -> None:
        """Take the molt away."""
        services.remove_molt(self.instance)


class MoltSignForm(FuzzyEventForm):
    """A sign that a molt is coming."""

    title = "Log a sign of a molt"
    submit = "Seen"
    later = ("about", "note")

    class Meta:
        model = MoltSign
        fields = ("sign", "note")
        widgets = {"sign": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fitting = [(sign.value, sign.label) for sign in signs_for(Group(self.specimen.taxon.group))]
        self.fields["sign"].choices = fitting  # type: ignore[attr-defined]

    def write(self) -> None:
        """Store the sign."""
        self.instance.specimen = self.specimen
        services.refuse_after_end(self.specimen, self.instance.earliest)
        services.write(self.instance, [self.specimen], f"Sign of a molt: {self.specimen.code}")


TODAY, YESTERDAY, ABOUT = "today", "yesterday", "about"


class ManyMoltsForm(forms.Form):
    """The molts of many animals of one day: tick those that molted; of a group, write how many."""

    day = forms.ChoiceField(
        label="When",
        choices=[(TODAY, "today"), (YESTERDAY, "yesterday"), (ABOUT, "another day")],
        widget=forms.RadioSelect,
        initial=TODAY,
    )
    about = forms.CharField(
        label="which day, or between which",
        required=False,
        max_length=25,
        help_text="2026-11-20, 2026-11-18/2026-11-25.",
    )
    everyone = forms.BooleanField(label="all of them molted", required=False)
    kept = forms.BooleanField(label="their exuviae are kept", required=False)
    first = forms.IntegerField(label="instar, where none is on record", required=False)

    def __init__(self, *args: Any, animals: Sequence[Specimen], last: dict[int, Molt], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 60, "first")
        self.animals, self.last = animals, last
        groups = [animal.pk for animal in animals if animal.kind != SpecimenKind.SINGLE.value]
        self.counted = set(GroupCount.objects.filter(specimen__in=groups).values_list("specimen_id", flat=True))
        for animal in animals:
            self.fields[f"a{animal.pk}"] = self._field_of(animal)

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

    def rows(self) -> list[tuple[Specimen, forms.BoundField, Molt | None]]:
        """Each animal with its field and its last molt."""
        return [(animal, self[f"a{animal.pk}"], self.last.get(animal.pk)) for animal in self.animals]

    def clean_about(self) -> FuzzyDate | None:
        """A day or a range that has begun."""
        return read_begun(self.cleaned_data["about"], "This lies in the future. Log it when it has happened.")

    def clean(self) -> dict[str, Any]:
        """Somebody must have molted, on a day that is given, and not twice on it."""
        data = super().clean() or self.cleaned_data
        if data.get("day") == ABOUT and "about" in data and data["about"] is None:
            self.add_error("about", "Write the day, or the two days between which they molted.")
        if self.errors:
            return data
        self.molts = [molt for animal in self.animals if (molt := self._molt_of(animal))]
        if not self.molts:
            raise forms.ValidationError("Nobody is ticked. Tap those that molted.")
        self._refuse_twice()
        return data

    def when(self) -> FuzzyDate:
        """The day or range meant."""
        today = timezone.localdate()
        about: FuzzyDate | None = self.cleaned_data.get("about")
        if self.cleaned_data["day"] == ABOUT and about is not None:
            return FuzzyDate(about.earliest, min(about.latest, today))
        return FuzzyDate.on(today - timedelta(days=self.cleaned_data["day"] == YESTERDAY))

    def _molt_of(self, animal: Specimen) -> Molt | None:
        """The molt that this form says of one animal, an instar further than its last."""
        said = self.cleaned_data.get(f"a{animal.pk}")
        single = animal.kind == SpecimenKind.SINGLE.value
        if single and self.cleaned_data["everyone"]:
            said = True
        if not said:
            return None
        last, when = self.last.get(animal.pk), self.when()
        return Molt(
            specimen=animal,
            earliest=when.earliest,
            latest=when.latest,
            animals=None if single else said,
            instar=last.instar + 1 if last is not None and last.instar else self.cleaned_data["first"],
            numbering=next_numbering(animal, last),
            exuvia_kept=True if self.cleaned_data["kept"] else None,
        )

    def _refuse_twice(self) -> None:
        when = self.when()
        singles = [molt.specimen_id for molt in self.molts if molt.animals is None]
        twice = Molt.objects.filter(specimen__in=singles, earliest=when.earliest, latest=when.latest)
        for pk, code in twice.values_list("specimen_id", "specimen__code"):
            self.add_error(f"a{pk}", f"A molt of {code} on this day is on record already.")

    def write(self) -> None:
        """Store them all, or none."""
        animals = sum(molt.animals or 1 for molt in self.molts)
        services.record_molts(self.molts, f"{animals} molt{'' if animals == 1 else 's'}")
