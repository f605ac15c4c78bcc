"""Sensors, where they hang, how they were tested, and what they measured."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from collection.models.base import Kept, ordered
from husbandry.calibration import SALTS
from husbandry.intake import Reason
from husbandry.models.place import Enclosure, Place
from husbandry.querysets import CalibrationQuerySet, PostingQuerySet, SensorQuerySet


class Device(Kept):
    """What may send readings over the network, by a token of which only the hash is kept."""

    name = models.CharField(max_length=60, unique=True)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    hint = models.CharField("first characters of the token", max_length=6, editable=False)
    by_query = models.BooleanField("may send its token in the address", default=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Sensor(Kept):
    """A thermometer, a hygrometer, or both in one."""

    name = models.CharField(max_length=60, unique=True)
    key = models.SlugField("its name in messages", max_length=60, unique=True)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, blank=True, related_name="sensors")
    every_minutes = models.PositiveIntegerField("measures every so many minutes", default=10)
    overdue_minutes = models.PositiveIntegerField("silent after so many minutes", default=60)
    patience_minutes = models.PositiveIntegerField("alarm after so many minutes outside", default=30)
    lights_on = models.PositiveSmallIntegerField("day from, hour", default=8)
    lights_off = models.PositiveSmallIntegerField("day until, hour", default=20)
    celsius_min = models.FloatField("own band, from °C", null=True, blank=True)
    celsius_max = models.FloatField("own band, to °C", null=True, blank=True)
    humidity_min = models.FloatField("own band, from %", null=True, blank=True)
    humidity_max = models.FloatField("own band, to %", null=True, blank=True)
    night_drop = models.FloatField("nights may be cooler by, °C", default=3.0)
    note = models.CharField(max_length=120, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    objects = SensorQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=Q(every_minutes__gt=0), name="sensor_measures_at_times"),
            models.CheckConstraint(condition=Q(overdue_minutes__gte=F("every_minutes")), name="sensor_overdue_in_time"),
            models.CheckConstraint(
                condition=Q(lights_on__lt=F("lights_off"), lights_off__lte=24), name="sensor_day_in_order"
            ),
            models.CheckConstraint(condition=ordered("celsius_min", "celsius_max"), name="sensor_celsius_in_order"),
            models.CheckConstraint(condition=ordered("humidity_min", "humidity_max"), name="sensor_humidity_in_order"),
            models.CheckConstraint(condition=Q(night_drop__gte=0), name="sensor_night_not_warmer"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The sensor's own page."""
        return reverse("husbandry:sensor-detail", args=[self.pk])


class Posting(Kept):
    """Where a sensor hangs from an instant on; in neither place nor enclosure it is put away."""

    class Spot(models.TextChoices):
        """What air it measures."""

        AIR = "air", "in the air"
        WARM = "warm", "at the warm end"
        COOL = "cool", "at the cool end"
        SUBSTRATE = "substrate", "at the substrate or in the burrow"
        TOP = "top", "under the lid"

    sensor = models.ForeignKey(Sensor, on_delete=models.PROTECT, related_name="postings")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="postings")
    enclosure = models.ForeignKey(Enclosure, on_delete=models.PROTECT, null=True, blank=True, related_name="postings")
    spot = models.CharField(max_length=10, choices=Spot.choices, default=Spot.AIR.value)
    since = models.DateTimeField(default=timezone.now)

    objects = PostingQuerySet.as_manager()

    class Meta:
        ordering = ["-since"]
        constraints = [
            models.UniqueConstraint(fields=["sensor", "since"], name="posting_one_at_a_time"),
            models.CheckConstraint(
                condition=Q(place__isnull=True) | Q(enclosure__isnull=True), name="posting_in_one_place"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} since {self.since:%Y-%m-%d %H:%M}"


class Calibration(Kept):
    """A salt test: what the sensor showed over one salt or two. The correction follows from it and is not stored."""

    sensor = models.ForeignKey(Sensor, on_delete=models.PROTECT, related_name="calibrations")
    since = models.DateTimeField("holds from", default=timezone.now)
    celsius = models.FloatField("temperature at the jars, °C")
    salt_1 = models.CharField("salt", max_length=10, choices=[(salt, salt) for salt in SALTS])
    shown_1 = models.FloatField("the sensor showed, %")
    salt_2 = models.CharField("second salt", max_length=10, choices=[(salt, salt) for salt in SALTS], blank=True)
    shown_2 = models.FloatField("it showed over the second, %", null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        ordering = ["-since"]
        constraints = [
            models.UniqueConstraint(fields=["sensor", "since"], name="calibration_one_at_a_time"),
            models.CheckConstraint(
                condition=Q(salt_2="", shown_2__isnull=True) | (~Q(salt_2="") & Q(shown_2__isnull=False)),
                name="calibration_second_jar_whole",
            ),
            models.CheckConstraint(
                condition=Q(shown_1__range=(0, 100)) & (Q(shown_2__isnull=True) | Q(shown_2__range=(0, 100))),
                name="calibration_shows_humidity",
            ),
        ]

    def __str__(self) -> str:
        salts = f"{self.salt_1} and {self.salt_2}" if self.salt_2 else self.salt_1
        return f"salt test with {salts}"


class ReadingBatch(Kept):
    """Readings of one sensor that came together, by a file or by hand, so that they can be taken out as they came."""

    class Way(models.TextChoices):
        """How they came."""

        FILE = "file", "logger file"
        HAND = "hand", "by hand"

    sensor = models.ForeignKey(Sensor, on_delete=models.PROTECT, related_name="batches")
    way = models.CharField(max_length=5, choices=Way.choices)
    day = models.DateField()

    class Meta:
        verbose_name = "batch of readings"
        verbose_name_plural = "batches of readings"

    def __str__(self) -> str:
        return f"{self.get_way_display()}, {self.day}"


class Reading(models.Model):
    """One measurement, raw, in hundredths. Millions of them: a lean table, found by sensor and instant, that
    backups can leave out. On SQLite it is its own index (see the migration)."""

    pk = models.CompositePrimaryKey("sensor_id", "at")
    sensor = models.ForeignKey(Sensor, on_delete=models.PROTECT, related_name="readings", db_index=False)
    at = models.BigIntegerField("seconds since 1970, UTC")
    celsius = models.SmallIntegerField("hundredths of a °C", null=True, blank=True)
    humidity = models.SmallIntegerField("hundredths of a per cent, as shown", null=True, blank=True)
    batch = models.ForeignKey(
        ReadingBatch, on_delete=models.CASCADE, null=True, blank=True, related_name="readings", db_index=False
    )

    class Meta:
        ordering = ["sensor", "at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(celsius__isnull=False) | Q(humidity__isnull=False), name="reading_measures_something"
            ),
            models.CheckConstraint(
                condition=Q(humidity__isnull=True) | Q(humidity__range=(0, 10000)), name="reading_humidity_possible"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} at {self.at}"


class SensorState(models.Model):
    """Derived: the newest reading of a sensor, and how far each alarm has come. Rebuilt from the readings."""

    sensor = models.OneToOneField(Sensor, on_delete=models.CASCADE, primary_key=True, related_name="state")
    at = models.BigIntegerField("newest reading")
    celsius = models.SmallIntegerField(null=True, blank=True)
    celsius_at = models.BigIntegerField(null=True, blank=True)
    humidity = models.SmallIntegerField(null=True, blank=True)
    humidity_at = models.BigIntegerField(null=True, blank=True)
    watches = models.JSONField(default=dict, blank=True)  # quantity: side, since, back, rung, last
    pulse = models.JSONField(default=list)  # last, steady, silent_from

    def __str__(self) -> str:
        return f"{self.sensor_id} at {self.at}"


class ClimateAlarm(models.Model):
    """Derived: an alarm that came, and when it went."""

    class Kind(models.TextChoices):
        """What was wrong."""

        WARM = "celsius above", "too warm"
        COLD = "celsius below", "too cold"
        DAMP = "humidity above", "too damp"
        DRY = "humidity below", "too dry"
        SILENT = "silent", "silent"

    sensor = models.ForeignKey(Sensor, on_delete=models.CASCADE, related_name="alarms")
    kind = models.CharField(max_length=15, choices=Kind.choices)
    begins = models.BigIntegerField()
    ends = models.BigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["-begins"]
        constraints = [models.UniqueConstraint(fields=["sensor", "kind", "begins"], name="climatealarm_once")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.sensor_id}"


class Refusal(models.Model):
    """How often readings were refused, by whom they came and why. One row a cause, however large the flood."""

    LABELS = {
        Reason.SHAPE: "not a reading",
        Reason.SENSOR: "no such sensor",
        Reason.NOT_YOURS: "another device’s sensor",
        Reason.TEMPERATURE: "impossible temperature",
        Reason.HUMIDITY: "impossible humidity",
        Reason.PAST: "clock never set",
        Reason.FUTURE: "clock ahead",
        Reason.ZONE: "time without its zone",
        Reason.FLOOD: "too many at once",
        Reason.DIFFERS: "another value was there",
        Reason.TOO_LARGE: "message too large",
        Reason.TOKEN: "token not known",
    }
    key = models.CharField(max_length=60, unique=True)
    sensor = models.ForeignKey(Sensor, on_delete=models.CASCADE, null=True, blank=True, related_name="refusals")
    device = models.ForeignKey(Device, on_delete=models.CASCADE, null=True, blank=True, related_name="refusals")
    reason = models.CharField(max_length=15, choices=[(reason.value, label) for reason, label in LABELS.items()])
    count = models.PositiveBigIntegerField(default=0)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    said = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-last_at"]

    def __str__(self) -> str:
        return f"{self.get_reason_display()}: {self.count}"
