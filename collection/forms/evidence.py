"""Forms of sex evidence: a look, a look mended, a look withdrawn, and how looks are weighed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.models import model_to_dict
from django.utils.html import format_html

from collection import evidence
from collection.forms.base import SIZES_MM, FuzzyEventForm, limit
from collection.models import SexEvidence, Specimen, Taxon
from collection.sexing import (
    COUNTED,
    DEFAULT,
    GUIDES,
    Finding,
    Likelihoods,
    Method,
    finding_of_count,
    look_for,
    say_row,
    speaking,
)
from collection.stages import Group
from collection.standing import methods_of

SKINS = {Method.EXUVIA, Method.ATRIUM}  # read from a shed skin
MAGNIFIED = SKINS | {Method.PECTINES, Method.PAPILLAE, Method.EPIGYNE}
SPIDERS = {Group.TARANTULA, Group.TRUE_SPIDER, Group.WHIP_SPIDER}


def guidance(method: Method, taxon: Taxon) -> str:
    """What to look for, in the words of the taxon where it has its own."""
    if method is Method.DIMORPHISM and taxon.dimorphism:
        return f"In this taxon: {taxon.dimorphism}."
    return look_for(method, Group(taxon.group))


def pitfalls(method: Method, taxon: Taxon) -> str:
    """What a look is mistaken for; the taxon's own exceptions first."""
    said = [GUIDES[method].pitfalls]
    if method is Method.MATURE_MALE and taxon.hookless:
        said.insert(0, "Males of this taxon never have hooks; look for the bulbs.")
    if method is Method.EXUVIA and taxon.no_spermathecae:
        said.insert(0, "Females of this taxon have no spermathecae: not seeing any says nothing.")
    if method is Method.PECTINES:
        said.insert(0, _ranges(taxon))
    return " ".join(said)


def _ranges(taxon: Taxon) -> str:
    if taxon.pectines_female_min is None or taxon.pectines_male_min is None:
        return "No range is on record for this taxon, so a count weighs as a look by eye; enter it on the taxon's page."
    return (
        f"This taxon: females {taxon.pectines_female_min}–{taxon.pectines_female_max}, "
        f"males {taxon.pectines_male_min}–{taxon.pectines_male_max}."
    )


class EvidenceForm(FuzzyEventForm):
    """Sex evidence: what was looked at, what was seen, at which size, by whom and with what."""

    title = "Log sex evidence"
    later = ("about", "carapace_mm", "note")

    class Meta:
        model = SexEvidence
        fields = (
            *("method", "finding", "counted", "confident", "molt", "intact", "lens"),
            *("size_mm", "carapace_mm", "instar_then", "looked_by", "note"),
        )
        widgets = {
            "method": forms.RadioSelect(attrs={"class": "guided"}),
            "finding": forms.RadioSelect(choices=[(f.value, f.value) for f in Finding]),
        }
        help_texts = {
            "looked_by": "Empty means you. Looks at one skin by one person count once; two people’s are tempered.",
            "size_mm": "Left as it stands, a chosen molt’s own leg span is taken.",
            "intact": "A torn skin weighs as one of a smaller animal.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.allowed = methods_of(self.specimen.taxon)
        self._offer()
        limit(self, *SIZES_MM, *(name for name in ("size_mm", "carapace_mm") if name in self.fields))
        for name, high in (("counted", 60), ("instar_then", 30)):
            if name in self.fields:
                limit(self, 1, high, name)
        fields: Any = self.fields
        taxon = self.specimen.taxon
        labels = {
            m: format_html("<span><b>{}</b> <small>{}</small></span>", _capital(m.label), guidance(m, taxon))
            for m in self.allowed
        }
        fields["method"].choices = [(m.value, label) for m, label in labels.items()]
        fields["finding"].required = False
        if "molt" in fields:
            fields["molt"].queryset = self.specimen.molts.all()
            fields["molt"].empty_label = "none of its molts on record"
            fields["molt"].label = "Which molt’s skin"
        if "counted" in fields:
            fields["counted"].label = "Segments counted" if Method.SEGMENTS in self.allowed else "Teeth of one comb"
        if "size_mm" in fields:
            fields["size_mm"].initial = self.specimen.standing.size_mm

    def _offer(self) -> None:
        """Only what the group has: no skin to read in a scorpion, nothing to count in a spider."""
        methods = set(self.allowed)
        gone = set() if methods & SKINS else {"intact", "molt"}
        gone |= set() if methods & MAGNIFIED else {"lens"}
        gone |= set() if methods & set(COUNTED) else {"counted"}
        gone |= set() if Method.SEGMENTS in methods else {"instar_then"}
        gone |= set() if Group(self.specimen.taxon.group) in SPIDERS else {"size_mm", "carapace_mm"}
        for name in gone:
            del self.fields[name]

    def cautions(self) -> list[tuple[str, str]]:
        """What each method is mistaken for."""
        return [(_capital(m.label), pitfalls(m, self.specimen.taxon)) for m in self.allowed]

    def clean(self) -> dict[str, Any]:
        """A count says what it says; without one a finding is needed. A skin is not older than the look at it."""
        data = super().clean()
        method = Method(data["method"]) if data.get("method") else None
        if method is not None and "finding" not in self.errors:
            self._clean_finding(method, data)
        molt = data.get("molt")
        if molt is not None and molt.leg_span_mm and "size_mm" not in self.changed_data:
            self.instance.size_mm = data["size_mm"] = molt.leg_span_mm
        if molt is not None and self.instance.latest and molt.earliest > self.instance.latest:
            self.add_error("molt", f"This molt came later, on {molt.when}.")
        return data

    def _clean_finding(self, method: Method, data: dict[str, Any]) -> None:
        counted, finding = data.get("counted"), data.get("finding")
        if counted and method not in COUNTED:
            self.add_error(
                "counted", f"Nothing is counted with “{method.label}”; choose what you counted, or leave it."
            )
        elif counted and (told := self._told(method, counted)):
            if finding and finding != told.value:
                self.add_error("finding", f"{counted} says {told.label} here, not {finding}. Check the count.")
            self.instance.finding = data["finding"] = told.value
        elif not finding:
            self.add_error("finding", "Say what you saw: female, male or unclear.")

    def _told(self, method: Method, counted: int) -> Finding | None:
        taxon = self.specimen.taxon
        females = (taxon.pectines_female_min, taxon.pectines_female_max)
        return finding_of_count(method, counted, females, (taxon.pectines_male_min, taxon.pectines_male_max))

    def write(self) -> None:
        """Append the evidence; the verdict follows by itself."""
        self.instance.specimen = self.specimen
        evidence.record(self.instance)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


class MendForm(EvidenceForm):
    """The same look as it should have been written down; the old entry is withdrawn with a reason."""

    title = "Mend an entry of sex evidence"
    submit = "Withdraw the old, log this"

    because = forms.CharField(
        label="What was wrong with the old entry",
        max_length=200,
        help_text="The entry stays on record as it was, withdrawn with this reason; this is logged anew.",
    )

    def __init__(self, *args: Any, specimen: Specimen, wrong: SexEvidence, **kwargs: Any) -> None:
        self.wrong = wrong
        initial = model_to_dict(wrong, self._meta.fields) | {"on": wrong.earliest}
        if wrong.earliest != wrong.latest:
            initial["about"] = str(wrong.when)
        super().__init__(*args, specimen=specimen, initial=initial, **kwargs)
        if wrong.method not in {m.value for m in self.allowed}:
            fields: Any = self.fields
            fields["method"].choices = [*fields["method"].choices, (wrong.method, wrong.get_method_display())]

    def write(self) -> None:
        """Withdraw the old, append the new."""
        self.instance.specimen = self.specimen
        evidence.mend(self.wrong, self.instance, self.cleaned_data["because"])


class WithdrawForm(forms.ModelForm):  # type: ignore[type-arg]
    """Why a piece of evidence no longer counts."""

    title = "Withdraw this evidence"
    submit = "Withdraw"

    class Meta:
        model = SexEvidence
        fields = ("withdrawn",)

    def clean_withdrawn(self) -> str:
        """A reason is needed; without one the evidence stands."""
        reason: str = self.cleaned_data["withdrawn"].strip()
        if not reason:
            raise forms.ValidationError("Say why it no longer counts.")
        return reason

    def write(self) -> None:
        """Store the withdrawal and weigh anew."""
        evidence.withdraw(self.instance, self.cleaned_data["withdrawn"])


CALLS = {
    Finding.FEMALE: (
        "female_if_female",
        "female_if_male",
        "“female” is said of a female",
        "“female” is said of a male",
    ),
    Finding.MALE: ("male_if_male", "male_if_female", "“male” is said of a male", "“male” is said of a female"),
}


class LikelihoodForm(forms.Form):
    """One row of the table: how often each call is made of true females and males, in per cent."""

    submit = "Weigh by these"

    because = forms.CharField(
        label="Why, and where it comes from",
        max_length=160,
        help_text="It stands beside the figures wherever they are used.",
    )

    def __init__(self, *args: Any, row: str, now: Likelihoods, **kwargs: Any) -> None:
        self.row, self.now = row, now
        super().__init__(*args, **kwargs)
        self.title = f"How a look is weighed: {say_row(row)}"
        own: dict[str, forms.Field] = {}
        for finding in speaking(row):
            for name, label in zip(CALLS[finding][:2], CALLS[finding][2:], strict=True) if finding in CALLS else ():
                own[name] = forms.FloatField(label=f"How often {label}, %", initial=_per_cent(getattr(now, name)))
        self.fields = own | self.fields
        limit(self, 0.1, 99.9, *own)
        self.fields["because"].initial = "" if now == DEFAULT[row] else now.why

    def clean(self) -> dict[str, Any]:
        """What is called neither is the rest, so two calls of one sex stay below a hundred together."""
        data = super().clean() or self.cleaned_data
        for sex in ("female", "male"):
            calls = [data.get(f"{call}_if_{sex}") for call in ("female", "male")]
            if None not in calls and len(speaking(self.row)) == 3 and sum(filter(None, calls)) >= 100:
                self.add_error(
                    f"male_if_{sex}",
                    f"Of true {sex}s “female” and “male” together stay below 100 %: the rest is “unclear”.",
                )
        return data

    def write(self) -> None:
        """Store the row; every verdict that rests on it follows."""
        given = {name: self.cleaned_data[name] / 100 for name in self.fields if name != "because"}
        values = self.now._asdict() | given | {"why": self.cleaned_data["because"]}
        if Finding.UNCLEAR in speaking(self.row):
            for sex in ("female", "male"):
                values[f"unclear_if_{sex}"] = 1 - values[f"female_if_{sex}"] - values[f"male_if_{sex}"]
        evidence.set_likelihood(self.row, Likelihoods(**values))


def _per_cent(chance: float) -> float:
    return round(chance * 100, 4)
