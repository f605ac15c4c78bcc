"""Forms about health: what is wrong, how it goes, how it ended; quarantine and its checks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from collection import health, health_services
from collection.forms.base import SIZES_MM, EventForm, FuzzyEventForm, day_widget, limit
from collection.health import Found, Outcome
from collection.models import Contact, HealthEntry, HealthIssue, Note, Quarantine, QuarantineCheck
from collection.services import remove
from collection.stages import Group

LONGEST_RHYTHM, LONGEST_QUARANTINE = 365, 400


class ConcernForm(FuzzyEventForm):
    """Something is wrong: what was seen, by whoever stood there. What it is, the keeper decides."""

    title = "Something is wrong"
    submit = "Tell it"
    later = ("about",)
    signs = forms.MultipleChoiceField(label="What is to be seen", required=False, widget=forms.CheckboxSelectMultiple)

    class Meta:
        model = Note
        fields = ("text",)
        labels = {"text": "in words"}
        widgets = {"text": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        group = Group(self.specimen.taxon.group)
        self.fields["signs"].choices = [(s.value, words) for s, words in health.signs_for(group)]  # type: ignore[attr-defined]
        self.fields["signs"].help_text = health.leave_alone(group)
        self.fields["text"].required = False
        self.initial["signs"] = self.instance.signs
        self.order_fields(["signs", "text", "on", "about"])

    def clean(self) -> dict[str, Any]:
        """Something must have been seen."""
        data = super().clean()
        if not self.errors and not data.get("signs") and not data.get("text"):
            raise forms.ValidationError("Tick what you see, or say it in words.")
        return data

    def write(self) -> None:
        """Store it; it stands among what needs the keeper until it is answered."""
        self.instance.specimen = self.specimen
        self.instance.signs = self.cleaned_data["signs"]
        health_services.raise_concern(self.instance)


class SetAsideForm(EventForm):
    """Looked into, and nothing to follow."""

    title = "Nothing to follow"
    submit = "Answered"

    class Meta:
        model = Note
        fields = ("set_aside",)
        labels = {"set_aside": "Why"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["on"]

    def clean_set_aside(self) -> str:
        """A reason is needed; without one it is asked for again."""
        reason: str = self.cleaned_data["set_aside"].strip()
        if not reason:
            raise forms.ValidationError("Say what you found.")
        return reason

    def write(self) -> None:
        """Store the answer."""
        health_services.set_aside(self.instance, self.cleaned_data["set_aside"])


class HealthForm(FuzzyEventForm):
    """An issue: what is wrong, since when, what was seen, when to look again."""

    title = "Log a health issue"
    submit = "Open the issue"
    later = ("about", "again_days", "vet")

    class Meta:
        model = HealthIssue
        fields = ("kind", "sure", "seen", "again_days", "vet")
        widgets = {"seen": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"again_days": "Empty means the usual rhythm of its kind."}

    def __init__(self, *args: Any, told: Note | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.told = told
        group = Group(self.specimen.taxon.group)
        kinds = health.kinds_for(group)
        self.fields["kind"].choices = [(kind.value, kind.label) for kind in kinds]  # type: ignore[attr-defined]
        self.fields["kind"].help_text = "What may spread: " + ", ".join(
            kind.label for kind in kinds if health.KINDS[kind].contagious
        )
        vets = self.fields["vet"]
        vets.queryset = Contact.objects.filter(vet=True)  # type: ignore[attr-defined]
        vets.empty_label = "nobody yet"  # type: ignore[attr-defined]
        vets.help_text = "Those whom your contacts name as a vet."
        limit(self, 1, LONGEST_RHYTHM, "again_days")
        if told is not None:
            self._begin_from(told, group)

    def _begin_from(self, told: Note, group: Group) -> None:
        """What the note said stands in the form already, to be changed."""
        signs = [words for sign, words in health.signs_for(group) if sign.value in told.signs]
        self.initial["kind"] = health.suggested(told.signs, group).value
        self.initial["seen"] = ". ".join(filter(None, [", ".join(signs).capitalize(), told.text]))
        self.fields["on"].initial = told.earliest
        if told.earliest != told.latest:
            self.fields["about"].initial = str(told.when)

    def write(self) -> None:
        """Open the issue, or correct it."""
        self.instance.specimen = self.specimen
        health_services.open_issue(self.instance, self.told)

    def remove(self) -> None:
        """Take the issue away."""
        health_services.remove_issue(self.instance)


class EntryForm(FuzzyEventForm):
    """One look at an issue."""

    title = "Look again"
    animal_field = "issue__specimen"
    later = ("about", "mass_g", "abdomen_mm")

    class Meta:
        model = HealthEntry
        fields = ("course", "seen", "again_on", "mass_g", "abdomen_mm")
        widgets = {"seen": forms.Textarea(attrs={"rows": 3}), "again_on": day_widget()}

    def __init__(self, *args: Any, issue: HealthIssue | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if issue is not None:
            self.instance.issue = issue
        limit(self, 0.0001, 1000, "mass_g")
        limit(self, *SIZES_MM, "abdomen_mm")
        issue = self.instance.issue
        days = issue.again_days or issue.facts.again_days
        word = "day" if days == 1 else f"{days} days"
        self.fields["again_on"].help_text = f"Empty means in its rhythm, every {word}."
        courses = [("", "not to be told"), *self.fields["course"].choices[1:]]  # type: ignore[attr-defined]
        self.fields["course"].widget = forms.RadioSelect(choices=courses)

    def clean(self) -> dict[str, Any]:
        """Something must have been seen, and the next look lies ahead of this one."""
        data = super().clean()
        if not self.errors and not any(data.get(name) for name in ("course", "seen", "mass_g", "abdomen_mm")):
            raise forms.ValidationError("Say how it looks: better, the same, worse, or in words.")
        again = data.get("again_on")
        if again is not None and self.instance.latest is not None and again < self.instance.latest:
            self.add_error("again_on", "The next look comes after this one.")
        return data

    def write(self) -> None:
        """Store the look."""
        health_services.record_entry(self.instance)

    def remove(self) -> None:
        """Take the look away."""
        issue = self.instance.issue
        remove(self.instance, [issue.specimen], f"Took away: {self.instance} at {issue.specimen}")


class CloseForm(EventForm):
    """How an issue ended."""

    title = "Close the issue"
    submit = "Close it"

    class Meta:
        model = HealthIssue
        fields = ("outcome", "outcome_note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(o.value, o.label) for o in Outcome if o is not Outcome.DIED]
        self.fields["outcome"] = forms.ChoiceField(choices=choices, widget=forms.RadioSelect)
        self.fields["outcome"].help_text = "If it died, log the death: that closes what is open."
        self.order_fields(["outcome", "on", "outcome_note"])

    def write(self) -> None:
        """Close it."""
        data = self.cleaned_data
        issue = HealthIssue.objects.select_related("specimen__standing").get(pk=self.instance.pk)
        health_services.close_issue(issue, data["on"], Outcome(data["outcome"]), data["outcome_note"])


class QuarantineForm(EventForm):
    """Kept apart from the others, from when to when."""

    title = "Quarantine"
    day_field = "begins"

    class Meta:
        model = Quarantine
        fields = ("until", "check_days", "note")
        labels = {"until": "Until"}
        widgets = {"until": day_widget()}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 90, "check_days")
        usual = health_services.usual_days(self.specimen)
        self.fields["until"].initial = timezone.localdate() + timedelta(days=usual)
        self.fields["until"].help_text = (
            "Common practice: 30 days at least, 60 to 90 for what was caught in the wild; on a shelf of its own, "
            "with tools of its own."
        )

    def clean_until(self) -> date:
        """No quarantine for years."""
        until: date = self.cleaned_data["until"]
        if until > timezone.localdate() + timedelta(days=LONGEST_QUARANTINE):
            raise forms.ValidationError(f"A quarantine of more than {LONGEST_QUARANTINE} days is a slip of the pen.")
        return until

    def write(self) -> None:
        """Begin it, or change its days."""
        self.instance.specimen = self.specimen
        self.instance.begins = self.cleaned_data["on"]
        health_services.begin_quarantine(self.instance)


class CheckForm(FuzzyEventForm):
    """A look at an animal in quarantine: each thing clear, in doubt, or not looked at."""

    title = "Quarantine check"
    animal_field = "quarantine__specimen"
    later = ("about",)

    class Meta:
        model = QuarantineCheck
        fields = ("note",)

    def __init__(self, *args: Any, quarantine: Quarantine | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if quarantine is not None:
            self.instance.quarantine = quarantine
        choices = [(found.value, found.label) for found in Found] + [("", "not looked at")]
        self.checks = health.checks_for(Group(self.specimen.taxon.group))
        for check in self.checks:
            self.fields[check.value] = forms.ChoiceField(
                label=check.label.capitalize(),
                choices=choices,
                required=False,
                widget=forms.RadioSelect,
                initial=self.instance.findings.get(check.value, ""),
            )
        self.order_fields([*(check.value for check in self.checks), "note", "on", "about"])

    def clean(self) -> dict[str, Any]:
        """Something must have been looked at."""
        data = super().clean()
        findings = {check.value: data[check.value] for check in self.checks if data.get(check.value)}
        if not self.errors and not findings:
            raise forms.ValidationError("Say what you looked at, and what that gave.")
        self.instance.findings = findings
        return data

    def write(self) -> None:
        """Store the look."""
        health_services.record_check(self.instance)

    def remove(self) -> None:
        """Take the look away."""
        kept = self.instance.quarantine
        remove(self.instance, [kept.specimen], f"Took away: {self.instance} of {kept.specimen}")


class EndQuarantineForm(EventForm):
    """It goes to the others."""

    title = "End the quarantine"
    submit = "It is over"

    class Meta:
        model = Quarantine
        fields = ("note",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ways = [(way.value, way.label) for way in Quarantine.Ended if way is not Quarantine.Ended.GONE]
        self.fields["ended"] = forms.ChoiceField(label="Why", choices=ways, widget=forms.RadioSelect, initial="clear")
        self.order_fields(["ended", "on", "note"])

    def write(self) -> None:
        """End it."""
        health_services.end_quarantine(self.instance, self.cleaned_data["on"], self.cleaned_data["ended"])
