"""Forms about sensors: the sensor, where it hangs, a reading by hand, a salt test, a device's token."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.text import slugify

from collection.forms.base import Folding, limit
from collection.services import Refused
from husbandry import calibration, intake
from husbandry.calibration import Correction
from husbandry.climate_services import corrections, devices, ingest, keeping
from husbandry.forms.place import BANDS, Retiring, check_bands
from husbandry.models import Calibration, Device, Enclosure, Place, Posting, ReadingBatch, Sensor

AHEAD = "This lies in the future."


def moment_widget() -> forms.DateTimeInput:
    """Day and time by the browser's own."""
    return forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")


def now_field(label: str, help_text: str = "") -> forms.DateTimeField:
    """Now unless said otherwise."""
    return forms.DateTimeField(label=label, widget=moment_widget(), required=False, help_text=help_text)


def begun(moment: datetime | None) -> datetime:
    """The moment given, or now; never one to come."""
    now = timezone.now().replace(second=0, microsecond=0)
    if moment is None:
        return now
    if moment > timezone.now():
        raise forms.ValidationError(AHEAD)
    return moment


def enclosure_of_code(code: str) -> Enclosure | None:
    """The enclosure that a code names; none for no code."""
    text = code.strip()
    found = Enclosure.objects.in_use().filter(code__iexact=text).first() if text else None
    if text and found is None:
        raise forms.ValidationError(f"No enclosure is called “{text}”. Add it under Racks first.")
    return found


def posting_of(data: dict[str, Any], sensor: Sensor, since: datetime) -> Posting:
    """Where a sensor hangs by what a form says, as a record."""
    return Posting(sensor=sensor, place=data["place"], enclosure=data["enclosure"], spot=data["spot"], since=since)


class Hanging(forms.Form):
    """Where a sensor hangs: in a place, or in an enclosure by its code."""

    place = forms.ModelChoiceField(
        Place.objects.in_walking_order(), required=False, label="hangs in the place", empty_label="no place"
    )
    enclosure = forms.CharField(label="or in the enclosure", max_length=40, required=False, help_text="Its code.")
    spot = forms.ChoiceField(label="where there", choices=Posting.Spot.choices, initial=Posting.Spot.AIR.value)

    def clean_enclosure(self) -> Enclosure | None:
        """The enclosure of this code."""
        return enclosure_of_code(self.cleaned_data["enclosure"])

    def clean(self) -> dict[str, Any]:
        """One of both, not two."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("place") and data.get("enclosure"):
            self.add_error("enclosure", "It hangs in one of them: clear the other.")
        return data


class HangForm(Folding, Hanging):
    """It hangs elsewhere from now on, or is put away."""

    submit = "Save"
    later = ("since",)
    since = now_field("since", "Now, unless it was hung up earlier.")

    def __init__(self, *args: Any, instance: Sensor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance = instance
        self.title = "Hang up"
        self.fields["place"].help_text = "Leave both empty when it is put away."

    def clean_since(self) -> datetime:
        """Not to come."""
        return begun(self.cleaned_data["since"])

    def write(self) -> None:
        """Store where it hangs."""
        keeping.hang(posting_of(self.cleaned_data, self.instance, self.cleaned_data["since"]))


class SensorForm(Folding, Retiring):
    """A sensor's particulars."""

    title = "Sensor"
    submit = "Save"
    later = (
        "key", "device", "every_minutes", "overdue_minutes", "patience_minutes", "lights_on", "lights_off", *BANDS,
        "night_drop", "note", "retired_on",
    )  # fmt: skip
    key = forms.CharField(label="its name in messages", max_length=60, required=False)

    class Meta:
        model = Sensor
        fields = (
            "name", "key", "device", "every_minutes", "overdue_minutes", "patience_minutes", "lights_on",
            "lights_off", *BANDS, "night_drop", "note", "retired_on",
        )  # fmt: skip
        widgets = {"retired_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}
        help_texts = {"device": "Only this device may send for it."}
        error_messages = {"name": {"unique": "There is a sensor of this name already."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit(self, 1, 10_000, "every_minutes", "overdue_minutes")
        limit(self, 0, 10_000, "patience_minutes")
        limit(self, 0, 23, "lights_on")
        limit(self, 1, 24, "lights_off")
        limit(self, -10, 50, "celsius_min", "celsius_max")
        limit(self, 0, 100, "humidity_min", "humidity_max")
        limit(self, 0, 20, "night_drop")
        self.fields["key"].help_text = "Letters, digits and hyphens; made from the name when left empty."
        self.fields["celsius_min"].help_text = "Without a band of its own, what lives there decides."
        own = Q(pk=self.instance.device_id)  # kept on an edit, even if it may no longer send
        self.fields["device"].queryset = Device.objects.filter(Q(revoked_at=None) | own)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A key that messages can carry, bands and days that run forwards."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        check_bands(self, data)
        key = slugify(data.get("key") or data.get("name") or "")[: intake.LONGEST_NAME]
        data["key"] = self.instance.key = key
        if not key:
            self.add_error("key", "Give it a name in letters or digits.")
        elif Sensor.objects.filter(key=key).exclude(pk=self.instance.pk).exists():
            self.add_error("key", "Another sensor has this name in messages already.")
        self._check_times(data)
        return data

    def _check_times(self, data: dict[str, Any]) -> None:
        every, overdue = data.get("every_minutes"), data.get("overdue_minutes")
        if every and overdue and overdue < every:
            self.add_error("overdue_minutes", "It cannot be silent before its next reading is due.")
        on, off = data.get("lights_on"), data.get("lights_off")
        if on is not None and off is not None and on >= off:
            self.add_error("lights_off", "The day ends after it begins.")

    def write(self) -> None:
        """Store the sensor."""
        keeping.save_sensor(self.instance)


class NewSensorForm(SensorForm):
    """A new sensor and where it hangs."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        hanging = Hanging(initial=kwargs.get("initial"))
        for name, field in hanging.fields.items():
            self.fields[name] = field
        self.order_fields(["name", *hanging.fields])

    def clean_enclosure(self) -> Enclosure | None:
        """The enclosure of this code."""
        return enclosure_of_code(self.cleaned_data["enclosure"])

    def clean(self) -> dict[str, Any]:
        """One of place and enclosure."""
        data = super().clean()
        if data.get("place") and data.get("enclosure"):
            self.add_error("enclosure", "It hangs in one of them: clear the other.")
        return data

    def write(self) -> None:
        """Store the sensor and where it hangs."""
        since = timezone.now().replace(second=0, microsecond=0)
        keeping.save_sensor(self.instance, posting_of(self.cleaned_data, self.instance, since))


class ReadingForm(Folding, forms.Form):
    """What was read off by hand."""

    title = "Note a reading of"
    submit = "Save"
    later = ("at",)
    celsius = forms.FloatField(label="temperature, °C", required=False)
    humidity = forms.FloatField(label="humidity as shown, %", required=False)
    at = now_field("read at", "Now, unless you read it earlier.")

    def __init__(self, *args: Any, instance: Sensor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance = instance

    def clean_at(self) -> datetime:
        """Not to come."""
        return begun(self.cleaned_data["at"])

    def write(self) -> None:
        """Store the reading. What cannot be is refused beside its field."""
        data = self.cleaned_data
        batch = ReadingBatch(
            sensor=self.instance, way=ReadingBatch.Way.HAND.value, day=timezone.localtime(data["at"]).date()
        )
        try:
            answer = ingest.take_by_hand(batch, data["celsius"], data["humidity"], data["at"])
        except intake.Refused as refusal:
            raise Refused(str(refusal), FIELDS.get(refusal.reason, "")) from None
        if answer.refused:
            raise Refused(answer.refused[0][2])


FIELDS = {
    intake.Reason.TEMPERATURE: "celsius",
    intake.Reason.HUMIDITY: "humidity",
    intake.Reason.PAST: "at",
    intake.Reason.SHAPE: "celsius",
}


class CalibrationForm(Folding, forms.ModelForm):  # type: ignore[type-arg]
    """What the sensor showed in one jar or in two."""

    later = ("since", "note")
    since = now_field("holds from", "Now, unless the test is older. Earlier readings stay as they were.")

    class Meta:
        model = Calibration
        fields = ("celsius", "salt_1", "shown_1", "salt_2", "shown_2", "since", "note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(salt, f"{SALT_NAMES[salt]}, {salt}") for salt in calibration.SALTS]
        self.fields["salt_1"].choices = named  # type: ignore[attr-defined]
        self.fields["salt_2"].choices = [("", "no second jar"), *named]  # type: ignore[attr-defined]
        self.initial["salt_1"] = self.instance.salt_1 or "NaCl"
        limit(self, 0, 50, "celsius")
        limit(self, 0, 100, "shown_1", "shown_2")

    def clean_since(self) -> datetime:
        """Not to come."""
        return begun(self.cleaned_data["since"])

    def clean(self) -> dict[str, Any]:
        """The second jar has both a salt and a reading, or neither."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        salt, shown = data.get("salt_2"), data.get("shown_2")
        if salt and shown is None and "shown_2" not in self.errors:
            self.add_error("shown_2", "What did it show over the second salt?")
        if shown is not None and not salt:
            self.add_error("salt_2", "Which salt was in the second jar?")
        return data

    def correction(self) -> Correction | None:
        """The correction that follows; None, with the reason beside the form, when none can."""
        if not self.is_valid():
            return None
        self.instance.since = self.cleaned_data["since"]
        try:
            return corrections.correction_of(self.instance)
        except ValueError as problem:
            self.add_error(None, str(problem))
            return None

    def write(self) -> None:
        """Store the test."""
        keeping.record_calibration(self.instance)


SALT_NAMES = {
    "LiCl": "lithium chloride",
    "MgCl2": "magnesium chloride",
    "K2CO3": "potassium carbonate",
    "Mg(NO3)2": "magnesium nitrate",
    "NaCl": "sodium chloride, table salt without additives",
    "KCl": "potassium chloride",
    "K2SO4": "potassium sulphate",
}


class DeviceForm(forms.Form):
    """A name for what will send readings."""

    name = forms.CharField(label="name of the device", max_length=60)
    by_query = forms.BooleanField(
        label="it cannot set headers and sends its token in the address",
        required=False,
        help_text="Addresses end up in logs: only for devices that know no other way.",
    )
    token = ""

    def write(self) -> None:
        """Draw its token."""
        _, self.token = devices.admit(self.cleaned_data["name"].strip(), by_query=self.cleaned_data["by_query"])
