"""Forms of clutches, broods and loans."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.utils import timezone

from breeding import broods, loans
from breeding.broods import Split
from breeding.broodwords import looks_of
from breeding.clutches import words
from breeding.models import BroodShare, EggSac, Loan, SacCheck
from breeding.pairings import possible_sires
from collection.forms.base import EventForm, Folding, FuzzyEventForm, day_widget, limit
from collection.models import Departure, Photo, Specimen
from collection.services import Refused
from collection.stages import Group
from husbandry.models import Place

PREFIX = re.compile(r"^[\w. ]{1,20}$")


class SacCheckForm(FuzzyEventForm):
    """A look into a sac."""

    title = "Look at it"
    animal_field = "sac__female"
    later = ("about", "photo", "note")

    class Meta:
        model = SacCheck
        fields = ("look", "celsius", "humidity", "photo", "note")
        widgets = {"look": forms.RadioSelect(choices=SacCheck.Look.choices)}
        help_texts = {"photo": "Of those on her page."}

    def __init__(self, *args: Any, sac: EggSac | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sac = sac or self.instance.sac
        limit(self, -20, 60, "celsius")
        limit(self, 0, 100, "humidity")
        seen = dict.fromkeys([*looks_of(Group(self.sac.female.taxon.group)), self.instance.look])
        self.fields["look"].choices = [(look, SacCheck.Look(look).label) for look in seen]  # type: ignore[attr-defined]
        hers = Photo.objects.filter(specimen=self.sac.female_id).order_by("-earliest", "-id")
        self.fields["photo"].queryset = hers  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Nothing is seen of a sac before it was laid."""
        data = super().clean()
        if self.instance.latest and self.instance.latest < self.sac.earliest:
            self.add_error("on", f"It was laid on {self.sac.when}.")
        return data

    def write(self) -> None:
        """Store the look."""
        self.instance.sac = self.sac
        broods.record_check(self.instance)

    def back(self) -> str:
        """To the looks."""
        return f"{self.sac.get_absolute_url()}#looks"


class BroodShareForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """What somebody else gets of a brood."""

    title = "Share of the brood"
    submit = "Save"
    later = ("due_on", "note")

    class Meta:
        model = BroodShare
        fields = ("to", "percent", "odd_is_theirs", "due_on", "note")
        widgets = {"due_on": day_widget()}
        help_texts = {"odd_is_theirs": "Otherwise the odd one stays with the female’s owner."}

    def __init__(self, *args: Any, sac: EggSac, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.sac = sac
        self.heading = f"Share of the {words(sac).young} of {sac.female.code}"
        limit(self, 0.1, 100, "percent")
        loan = None if self.instance.pk else loans.of_sires(sac)
        if not self.instance.pk:
            self.initial["percent"] = loan.percent if loan else 50
        if loan is not None:
            self.initial["to"] = loan.contact_id
            self.fields["to"].help_text = f"{loan.specimen.code} was lent by {loan.contact}, for {loan.percent:g} %."

    def write(self) -> None:
        """Store the share."""
        broods.set_share(self.instance)


class TakeOutForm(Folding, forms.Form):
    """Young out of a sac, into singles and groups with codes of their own."""

    submit = "Take them out"
    later = ("alone", "groups", "place", "cups")

    on = forms.DateField(label="Day", widget=day_widget(), required=False)
    alone = forms.BooleanField(
        label="she had no male: they are copies of their dam",
        required=False,
        help_text="Nobody she was paired with is on record. Left empty, the sire counts as not known.",
    )
    singles = forms.IntegerField(label="singles", min_value=0, max_value=broods.MOST, required=False)
    groups = forms.CharField(
        label="groups of",
        max_length=200,
        required=False,
        help_text="Kept together: the size of each, such as 25 25 10.",
    )
    tray = forms.BooleanField(label="a new tray for their cups", required=False, initial=True)
    begin = forms.CharField(label="codes begin with", max_length=20, help_text="Then a number that was never used.")
    cups = forms.BooleanField(label="a cup for each, with its tag", required=False, initial=True)
    place = forms.ModelChoiceField(Place.objects.in_walking_order(), label="the cups stand in", required=False)

    def __init__(self, *args: Any, sac: EggSac, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sac, self.instance = sac, sac
        self.title = f"Take {words(sac).young} out of the"
        if possible_sires(sac):
            del self.fields["alone"]
        left = broods.left_in(sac)
        self.fields["on"].initial = timezone.localdate()
        self.fields["singles"].initial = left or None
        if left is not None:
            self.fields["singles"].help_text = f"The last count leaves {left}."
        self.fields["begin"].initial = sac.female.code.partition("-")[0]

    def clean_begin(self) -> str:
        """Letters, figures, dots."""
        text: str = self.cleaned_data["begin"].strip()
        if not PREFIX.match(text):
            raise forms.ValidationError("Use letters and figures only.")
        return text

    def clean_groups(self) -> list[int]:
        """Sizes, apart by spaces or commas."""
        text = self.cleaned_data["groups"]
        parts = [part for part in re.split(r"[\s,;]+", text) if part]
        if not all(part.isdecimal() and 2 <= int(part) <= 10_000 for part in parts):
            raise forms.ValidationError("A group is a number from 2 up, such as 25 25 10.")
        if len(parts) > 200:
            raise forms.ValidationError("No more than 200 groups in one step.")
        return [int(part) for part in parts]

    def clean_on(self) -> Any:
        """A day that has come."""
        day = self.cleaned_data["on"] or timezone.localdate()
        if day > timezone.localdate():
            raise forms.ValidationError("This day lies in the future. Take them out when it has come.")
        return day

    def write(self) -> None:
        """Give them codes."""
        data = self.cleaned_data
        split = Split(
            data["on"],
            data["begin"],
            data["singles"] or 0,
            data["groups"],
            data["place"],
            cups=data["cups"],
            tray=data["tray"],
            alone=data.get("alone", False),
        )
        self.made = broods.take_out(self.sac, split)


class DeliverForm(Folding, forms.Form):
    """So many singles of a brood handed to whom they are owed."""

    title, submit = "Deliver a share of", "Delivered"
    number = forms.IntegerField(label="how many", min_value=1, max_value=broods.MOST)
    on = forms.DateField(label="Day", widget=day_widget(), required=False)

    def __init__(self, *args: Any, share: BroodShare, owed: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.share, self.instance, self.owed = share, share.sac, owed
        self.fields["number"].initial = owed or None
        self.fields["on"].initial = timezone.localdate()

    def write(self) -> None:
        """Pass them on."""
        day = self.cleaned_data["on"] or timezone.localdate()
        if day > timezone.localdate():
            raise Refused("This day lies in the future.", "on")
        broods.deliver(self.share, self.cleaned_data["number"], day, self.owed)


class PassOnForm(EventForm):
    """Singles of a brood to somebody who has no share of it."""

    submit = "Passed on"
    day_field = "on"
    later = ("note",)
    number = forms.IntegerField(label="how many singles", min_value=1, max_value=broods.MOST)

    class Meta:
        model = Departure
        fields = ("contact", "price", "note")
        labels = {"contact": "to", "price": "what each brought"}

    def __init__(self, *args: Any, sac: EggSac, owed: int, **kwargs: Any) -> None:
        super().__init__(*args, specimen=sac.female, **kwargs)
        self.sac, self.owed = sac, owed
        self.title = self.heading = f"Pass {words(sac).young} of {sac.female.code} on"
        self.fields["contact"].required = True
        limit(self, 0, 1_000_000, "price")
        if owed:
            self.fields["number"].help_text = f"{owed} are owed to others and stay here."
        self.order_fields(["number", "contact", "on", "price", "note"])

    def write(self) -> None:
        """Pass them on."""
        self.instance.on = self.cleaned_data["on"]
        broods.pass_on(self.sac, self.cleaned_data["number"], self.instance, self.owed)


class LoanForm(EventForm):
    """Lending an animal, or the terms of one that was lent to us."""

    title = "Loan"
    day_field = "since"
    later = ("if_lost", "terms")

    class Meta:
        model = Loan
        fields = ("way", "contact", "due_back_on", "percent", "if_lost", "terms")
        widgets = {
            "way": forms.RadioSelect(choices=Loan.Way.choices),
            "due_back_on": day_widget(),
            "terms": forms.Textarea(attrs={"rows": 3}),
        }
        help_texts = {
            "percent": "Half is common for a male. Agree before the meeting.",
            "if_lost": "Agree it before: a male may be lost at the meeting.",
        }

    def __init__(self, *args: Any, specimen: Specimen, **kwargs: Any) -> None:
        super().__init__(*args, specimen=specimen, **kwargs)
        limit(self, 0, 100, "percent")
        self.fields["way"].initial = "in" if specimen.how == "loan" else "out"

    def clean(self) -> dict[str, Any]:
        """Back after it went."""
        data = super().clean() or self.cleaned_data
        if data.get("due_back_on") and data.get("on") and data["due_back_on"] < data["on"]:
            self.add_error("due_back_on", "It would be back before it went.")
        return data

    def write(self) -> None:
        """Store the loan."""
        self.instance.specimen = self.specimen
        self.instance.since = self.cleaned_data["on"]
        loans.begin(self.instance)

    def remove(self) -> None:
        """Take the loan away, and the departure it began with."""
        loans.take_away(self.instance)


class LoanEndForm(EventForm):
    """Back with its owner."""

    title = "Back from loan"
    submit = "Back"

    class Meta:
        model = Loan
        fields: tuple[str, ...] = ()

    def write(self) -> None:
        """End the open loan."""
        loan = Loan.objects.filter(specimen=self.specimen, ended_on__isnull=True).first()
        if loan is None:
            raise Refused(f"{self.specimen.code} is not on loan.")
        loans.end(loan, self.cleaned_data["on"])
