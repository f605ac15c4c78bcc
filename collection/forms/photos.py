"""Forms of pictures: many files at once, and the correction of what is said of one."""

from __future__ import annotations

from typing import Any, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict
from django.utils import timezone
from django.utils.datastructures import MultiValueDict
from django.utils.dateparse import parse_date

from collection.dates import FuzzyDate
from collection.forms.base import AHEAD, FIRST_DAY, TOO_EARLY, FuzzyEventForm, day_widget, refuse_early
from collection.models import Molt, Photo, SexEvidence, Specimen
from collection.photos import apart, intake, keeping
from collection.photos.keeping import MOST_AT_ONCE, Arrived, day_of

KINDS = "image/jpeg,image/png,image/webp,image/heic,image/heif"
NAME_SHOWN = 60


class ManyFiles(forms.FileInput):
    """A field of the browser's own that takes several pictures."""

    allow_multiple_selected = True

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        """The last of them for the field itself, which checks one; the form looks at all."""
        return files.get(name)


class PhotoForm(forms.Form):
    """Pictures of one animal, with the day for those that do not tell theirs."""

    title = "Add pictures"
    submit = "Keep them"

    pictures = forms.FileField(
        label="Pictures", required=False, allow_empty_file=True,
        widget=ManyFiles(attrs={"accept": KINDS, "multiple": True}),
        help_text=f"Up to {MOST_AT_ONCE} at once. Where and with what they were taken is not kept.",
    )  # fmt: skip
    camera = forms.FileField(
        label="Or one with the camera", required=False, allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )  # fmt: skip
    on = forms.DateField(
        label="Day", required=False, widget=day_widget(),
        help_text="For a picture that does not tell its day.",
    )  # fmt: skip
    caption = forms.CharField(label="Words under them", required=False, max_length=200)
    molt = forms.ModelChoiceField(Molt.objects.none(), label="Skin of", required=False, empty_label="no skin")
    evidence = forms.ModelChoiceField(
        SexEvidence.objects.none(), label="Shows the evidence of", required=False, empty_label="no evidence of sex"
    )

    def __init__(
        self,
        data: Any = None,
        files: MultiValueDict[str, UploadedFile[bytes]] | None = None,
        *,
        specimen: Specimen,
        **kwargs: Any,
    ) -> None:
        self.specimen = specimen
        self.arrived: list[Arrived] = []
        super().__init__(data, files, **kwargs)
        self.fields["on"].initial = timezone.localdate()
        offer_records(self, specimen)

    def clean_on(self) -> FuzzyDate:
        """A day, not in the future."""
        day = self.cleaned_data["on"] or timezone.localdate()
        if day > timezone.localdate():
            raise forms.ValidationError(AHEAD)
        refuse_early(day)
        return FuzzyDate.on(day)

    def clean(self) -> dict[str, Any]:
        """Some files, and not too many."""
        sent = self._sent()
        if not sent:
            self.add_error("pictures", "Choose at least one picture.")
        if len(sent) > MOST_AT_ONCE:
            self.add_error("pictures", f"These are {len(sent)} pictures. Send at most {MOST_AT_ONCE} at once.")
        return self.cleaned_data

    def _sent(self) -> list[UploadedFile[bytes]]:
        return [*self.files.getlist("pictures"), *self.files.getlist("camera")]

    def look(self) -> None:
        """Make pictures of the files, one after the other. Takes a while; no transaction should be open meanwhile."""
        sent = self._sent()
        data = cast(QueryDict, self.data)
        days, captions = (data.getlist(name) for name in ("days", "captions"))
        own = len(days) == len(captions) == len(sent)  # what a page that runs scripts says of each
        for number, file in enumerate(sent):
            said = (days[number], captions[number]) if own else ("", self.cleaned_data["caption"])
            self.arrived.append(self._look_at(file, *said))

    def _look_at(self, file: UploadedFile[bytes], day: str, caption: str) -> Arrived:
        name = (file.name or "picture")[-NAME_SHOWN:]
        today = timezone.localdate()
        said = _day(day)
        if said and said > today:
            return Arrived(name, refused=AHEAD)
        if said and said < FIRST_DAY:
            return Arrived(name, refused=TOO_EARLY)
        try:
            intake.refuse_by_size(file.size or 0)
            picture = apart.take(file.read())
        except intake.Refused as refusal:
            return Arrived(name, refused=str(refusal))
        when = FuzzyDate.on(said) if said else day_of(picture.taken, self.cleaned_data["on"], today)
        return Arrived(name, picture, day=when, caption=caption.strip())


def _day(text: str) -> Any:
    try:
        return parse_date(text.strip())
    except ValueError:
        return None


def offer_records(form: forms.BaseForm, specimen: Specimen) -> None:
    """Let a picture stand beside a molt or a piece of evidence of its own animal; nothing is asked where none is."""
    offers: dict[str, Any] = {"molt": specimen.molts.all(), "evidence": specimen.sex_evidence.filter(withdrawn="")}
    for name, rows in offers.items():
        field: Any = form.fields[name]
        field.queryset = rows
        if not rows:
            del form.fields[name]
    if "evidence" in form.fields:
        form.fields["evidence"].label_from_instance = _evidence_words  # type: ignore[attr-defined]


def _evidence_words(row: SexEvidence) -> str:
    return f"{row.get_method_display()}: {row.finding}, {row.when}"


class PhotoCorrection(FuzzyEventForm):
    """What is said of a picture: its day, its words, and the record it stands beside."""

    title = "Picture"

    class Meta:
        model = Photo
        fields = ("caption", "molt", "evidence")
        labels = {"caption": "Words under it", "molt": "Skin of", "evidence": "Shows the evidence of"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_records(self, self.specimen)

    def back(self) -> str:
        """To the picture, while it is there."""
        return self.instance.get_absolute_url() if self.instance.pk else super().back()

    def write(self) -> None:
        """Store the correction."""
        keeping.correct(self.instance)
