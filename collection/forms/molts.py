"""Forms for molts: one animal, one sign, a whole tray."""

from __future__ import annotations

from typing import Any

from django import forms

from collection import panels, services
from collection.forms.base import SIZES_MM, FuzzyEventForm, limit
from collection.instars import Convention, conventions_for
from collection.models import Molt, MoltSign, Specimen, SpecimenKind, Went
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

    @property
    def before(self) -> str:
        """What this molt would end."""
        return "" if self.instance.pk else panels.ended_by_molt(self.specimen)

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
