"""Forms of breeding."""

from __future__ import annotations

from typing import Any

from django import forms
from django.urls import reverse
from django.utils import timezone

from breeding import meetwords, services, signs
from breeding.broodwords import with_article, words_of
from breeding.models import EggSac, HeadCount, Meeting, Pairing, Sign, SpermWeb
from breeding.risk import HIDING
from collection.forms.base import EventForm, FuzzyEventForm, day_widget, limit
from collection.models import Specimen
from collection.services import Refused
from collection.stages import Group


def the_animal(text: str) -> Specimen:
    """The animal that a code means; a ValidationError where there is none."""
    found = Specimen.objects.for_display().filter(code__iexact=text.strip()).first()
    if found is None:
        raise forms.ValidationError(f"No animal is called “{text}”.")
    return found


class MeetingFields(FuzzyEventForm):
    """What is noted of a meeting."""

    class Meta:
        model = Meeting
        fields = ("insertions_left", "insertions_right", "drumming", "ending", "note")
        widgets = {"drumming": forms.RadioSelect(choices=[(True, "yes"), (False, "no"), ("", "not seen")])}
        help_texts = {"insertions_left": "Leave both empty when nobody could see.", "insertions_right": ""}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 0, 99, "insertions_left", "insertions_right")
        words = meetwords.words_of(Group(self.specimen.taxon.group))
        if not words.sides:  # no palps: one count, in the words of the group, and nobody drums
            self.fields["insertions_left"].label = words.field
            self.fields["insertions_left"].help_text = words.hint
            del self.fields["insertions_right"], self.fields["drumming"]

    def write(self) -> None:
        """Written by the forms that know the pairing."""
        raise NotImplementedError


class PairingForm(MeetingFields):
    """A pairing with its first meeting, from either animal's page."""

    title = "Log a pairing"
    later = ("about", "drumming", "note", "cross_reason")
    other = forms.CharField(label="with", max_length=40, required=False, help_text="The other animal's code.")
    cross_reason = forms.CharField(
        label="why animals of two taxa are paired",
        max_length=200,
        required=False,
        help_text="Only then. The young stay marked as hybrids.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_male = self.specimen.standing.probably_male
        self.fields["other"].required = self.is_male
        self.instead = (reverse("breeding:meet", args=[self.specimen.pk]), "They meet now: to the stopwatch")
        if not self.is_male:
            self.fields["other"].help_text = "His code. Leave it empty when the male is not known."
        self.order_fields(["on", "about", "other", "insertions_left", "insertions_right", "drumming", "ending"])

    def clean_other(self) -> Specimen | None:
        """The other animal."""
        text = self.cleaned_data["other"]
        return the_animal(text) if text.strip() else None

    def clean(self) -> dict[str, Any]:
        """Both sexes, one taxon, unless the reason is given."""
        data = super().clean()
        if not self.errors:
            other = data.get("other")
            female, male = (other, self.specimen) if self.is_male else (self.specimen, other)
            self.pairing = Pairing(female=female, male=male, cross_reason=data.get("cross_reason", ""))
            try:
                services.check_pair(self.pairing)
            except Refused as refusal:
                self.add_error("other", str(refusal))
        return data

    def write(self) -> None:
        """Store the pairing and its meeting; a second meeting of the same two joins the first."""
        known = services.running_pairing(self.pairing.female, self.pairing.male)
        if known is not None:
            self.instance.pairing = known
            services.record_meeting(self.instance)
        else:
            services.record_pairing(self.pairing, self.instance)


class SignForm(FuzzyEventForm):
    """A sign seen on a female."""

    title = "Log a sign"
    animal_field = "female"

    class Meta:
        model = Sign
        fields = ("kind", "note")
        widgets = {"kind": forms.RadioSelect(choices=Sign.Kind.choices)}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        group = Group(self.specimen.taxon.group)
        kinds = dict.fromkeys([*signs.shown_by(group), *filter(None, [self.instance.kind])])
        choices = [(kind, signs.word_of(kind, group)) for kind in kinds]
        self.fields["kind"].choices = choices  # type: ignore[attr-defined]

    def write(self) -> None:
        """Store the sign."""
        self.instance.female = self.specimen
        services.record_sign(self.instance)


class SpermWebForm(FuzzyEventForm):
    """A sperm web of a male."""

    title = "Log a sperm web"
    animal_field = "male"

    class Meta:
        model = SpermWeb
        fields = ("note",)

    def write(self) -> None:
        """Store the sperm web."""
        self.instance.male = self.specimen
        services.record_sperm_web(self.instance)


class SacForm(FuzzyEventForm):
    """A sac seen."""

    title = "Log a sac"
    animal_field = "female"
    later = ("about", "taken_on", "incubator", "note")

    class Meta:
        model = EggSac
        fields = ("kind", "taken_on", "incubator", "note")
        widgets = {"taken_on": day_widget(), "note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words, usual = words_of(Group(self.specimen.taxon.group)), self.specimen.taxon.sac_kind
        self.title = f"Log {with_article(words.brood)}"
        known = [kind for kind in (usual, self.instance.kind if self.instance.pk else "") if kind in EggSac.Kind.values]
        kinds = dict.fromkeys([*words.kinds, *known])
        self.fields["kind"].choices = [(kind, EggSac.Kind(kind).label) for kind in kinds]  # type: ignore[attr-defined]
        self.fields["kind"].initial = known[0] if known else words.kinds[0]

    def clean(self) -> dict[str, Any]:
        """A sac is not taken before it is laid."""
        data = super().clean()
        self.refuse_future("taken_on")
        taken = data.get("taken_on")
        if taken and self.instance.earliest and taken < self.instance.earliest:
            self.add_error("taken_on", "It cannot be taken before it was laid.")
        return data

    def write(self) -> None:
        """Store the sac."""
        self.instance.female = self.specimen
        services.record_sac(self.instance)

    def back(self) -> str:
        """To the page of the sac, where it is counted and looked at; to hers when there was none."""
        return self.instance.get_absolute_url() if self.instance.pk else super().back()

    def remove(self) -> None:
        """Take the sac away."""
        services.remove_sac(self.instance)


class HeadCountForm(FuzzyEventForm):
    """A count of what is in a sac."""

    title = "Count"
    animal_field = "sac__female"

    class Meta:
        model = HeadCount
        fields = ("stage", "alive", "dead", "cause", "how")

    def __init__(self, *args: Any, sac: EggSac | None = None, specimen: Specimen | None = None, **kwargs: Any) -> None:
        self.sac = sac = sac or kwargs["instance"].sac
        super().__init__(*args, specimen=sac.female, **kwargs)
        limit(self, 0, 100_000, "alive", "dead")
        words = words_of(Group(sac.female.taxon.group))
        self.title = f"Count the {words.brood}"
        known = [self.instance.stage] if self.instance.pk and self.instance.stage not in words.labels else []
        stages = [*words.stages, *((stage, HeadCount.Stage(stage).label) for stage in known)]
        self.fields["stage"].choices = stages  # type: ignore[attr-defined]
        last = HeadCount.objects.filter(sac=sac).order_by("latest", "pk").last()
        if last and not self.instance.pk:
            self.initial["stage"] = last.stage  # what was counted last is the likeliest to be counted now

    def clean(self) -> dict[str, Any]:
        """Nothing is counted before the sac was laid."""
        data = super().clean()
        if self.instance.latest and self.instance.latest < self.sac.earliest:
            words = words_of(Group(self.sac.female.taxon.group))
            self.add_error("on", f"There was no {words.brood} before {self.sac.when}.")
        return data

    def write(self) -> None:
        """Store the count."""
        self.instance.sac = self.sac
        services.record_head_count(self.instance)

    def back(self) -> str:
        """To the books."""
        return f"{self.sac.get_absolute_url()}#books"


class SacStateForm(EventForm):
    """What became of a sac: taken, or ended and how."""

    title = "Taken or ended"
    of = {
        "taken": ("Taken from her", ("taken_on", "incubator", "celsius", "place"), "taken_on"),
        "ended": ("How it ended", ("outcome", "ended_on"), "ended_on"),
    }

    class Meta:
        model = EggSac
        fields = ("taken_on", "incubator", "celsius", "place", "outcome", "ended_on")
        widgets = {"taken_on": day_widget(), "ended_on": day_widget()}
        help_texts = {"place": "Where a sensor hangs: its readings then count day by day."}

    def __init__(self, *args: Any, sac: EggSac, what: str = "", **kwargs: Any) -> None:
        super().__init__(*args, specimen=sac.female, instance=sac, **kwargs)
        del self.fields["on"]
        limit(self, -20, 60, "celsius")
        if what in self.of:  # one of the two, its day today; the other waits below
            self.title, asked, day = self.of[what]
            self.later = tuple(name for name in self.fields if name not in asked)
            if getattr(sac, day) is None:
                self.initial[day] = timezone.localdate()

    def clean(self) -> dict[str, Any]:
        """An outcome has a day, and no day lies before the laying."""
        data = super().clean() or self.cleaned_data
        if bool(data.get("outcome")) != bool(data.get("ended_on")):
            self.add_error("ended_on", "An outcome needs its day, and the day its outcome.")
        self.refuse_future("taken_on", "ended_on")
        for name in ("taken_on", "ended_on"):
            if data.get(name) and data[name] < self.instance.earliest:
                words = words_of(Group(self.instance.female.taxon.group))
                self.add_error(name, f"The {words.brood} is of {self.instance.when}.")
        return data

    def write(self) -> None:
        """Store what became of it."""
        services.record_sac(self.instance)


class CorrectMeetingForm(MeetingFields):
    """A meeting on record, corrected from the female's page."""

    title = "Correct a meeting"
    animal_field = "pairing__female"

    def write(self) -> None:
        """Store the correction."""
        services.record_meeting(self.instance)


class NewMeetingForm(MeetingFields):
    """One more meeting of a known pairing."""

    title = "Log a meeting"

    def __init__(self, *args: Any, pairing: Pairing, **kwargs: Any) -> None:
        self.pairing = pairing
        super().__init__(*args, specimen=pairing.female, **kwargs)

    def write(self) -> None:
        """Store the meeting."""
        self.instance.pairing = self.pairing
        services.record_meeting(self.instance)


class BeforeForm(EventForm):
    """What the keeper notes of a pairing before the two meet."""

    title = "Before the meeting"

    class Meta:
        model = Pairing
        fields = ("way_out", "retreat", "risk_note")
        widgets = {
            "way_out": forms.RadioSelect(choices=[(True, "yes"), (False, "no"), ("", "not noted")]),
            "retreat": forms.RadioSelect(choices=[(True, "yes"), (False, "no"), ("", "not noted")]),
            "risk_note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, pairing: Pairing, **kwargs: Any) -> None:
        super().__init__(*args, specimen=pairing.female, instance=pairing, **kwargs)
        del self.fields["on"]
        if Group(pairing.female.taxon.group) not in HIDING:
            del self.fields["retreat"]
        self.before = " ".join(meetwords.words_of(Group(pairing.female.taxon.group)).cautions)

    def write(self) -> None:
        """Store what was noted."""
        services.note_before(self.instance)
