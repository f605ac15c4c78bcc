"""Sensors are added, hung up, read off and tested; devices get their tokens."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from collection import receipts
from collection.htmx import send_to
from collection.rights import helper_may, keeper_only
from collection.services import Refused
from collection.views.log import sent, written
from husbandry.calibration import SALTS, salt_humidity, salt_range
from husbandry.climate_services import devices, keeping
from husbandry.forms.climate import (
    SALT_NAMES,
    CalibrationForm,
    DeviceForm,
    HangForm,
    NewSensorForm,
    ReadingForm,
    SensorForm,
)
from husbandry.models import Calibration, Device, Sensor
from husbandry.views.climate import refused_without_a_sensor

JAR_CELSIUS = 22.0  # of the humidities that the guided page names beforehand


def _written_or_shown(request: HttpRequest, form: Any, onward: str | None = None) -> HttpResponse:
    if request.method == "POST" and written(form):
        return send_to(request, onward or form.instance.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/record_form.html", {"form": form}, status=status)


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def sensor_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new sensor, or a changed one."""
    if pk is None:
        initial = {"place": request.GET.get("in"), "enclosure": request.GET.get("box", "")}
        return _written_or_shown(request, NewSensorForm(sent(request), initial=initial))
    return _written_or_shown(request, SensorForm(sent(request), instance=get_object_or_404(Sensor, pk=pk)))


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def sensor_hang(request: HttpRequest, pk: int) -> HttpResponse:
    """Where it hangs from now on."""
    sensor = get_object_or_404(Sensor, pk=pk)
    return _written_or_shown(request, HangForm(sent(request), instance=sensor))


@helper_may
@require_http_methods(["GET", "POST"])
@receipts.once
def reading_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A reading that somebody read off."""
    sensor = get_object_or_404(Sensor.objects.in_use(), pk=pk)
    return _written_or_shown(request, ReadingForm(sent(request), instance=sensor))


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def calibrate(request: HttpRequest, pk: int) -> HttpResponse:
    """A salt test, step by step; worked out before it is kept."""
    sensor = get_object_or_404(Sensor.objects.select_related("state"), pk=pk)
    form = CalibrationForm(sent(request), instance=Calibration(sensor=sensor))
    correction = form.correction() if request.method == "POST" else None
    if correction is not None and "keep" in request.POST and written(form):
        return send_to(request, sensor.get_absolute_url())
    lately = keeping.shown_lately(sensor, timezone.localtime())
    context = {
        "sensor": sensor,
        "form": form,
        "correction": correction,
        "lately": lately,
        "salts": _salts(),
        "would": (correction.correct(lately[0]), correction.uncertainty(lately[0])) if correction and lately else None,
    }
    status = 422 if request.method == "POST" and correction is None else 200
    return render(request, "husbandry/calibrate.html", context, status=status)


def _salts() -> list[dict[str, Any]]:
    """Each salt with its name, what it holds at room temperature, and up to where its figures go."""
    return [
        {"salt": salt, "name": SALT_NAMES[salt], "at": salt_humidity(salt, JAR_CELSIUS), "until": salt_range(salt)[1]}
        for salt in SALTS
    ]


@keeper_only
@require_POST
@receipts.once
def calibration_delete(request: HttpRequest, pk: int, test: int) -> HttpResponse:
    """Take a salt test away."""
    row = get_object_or_404(Calibration.objects.select_related("sensor"), pk=test, sensor=pk)
    keeping.remove_calibration(row)
    return send_to(request, row.sensor.get_absolute_url())


@keeper_only
@require_http_methods(["GET", "POST"])
@never_cache
@receipts.once
def device_list(request: HttpRequest) -> HttpResponse:
    """The devices, and a new token, shown this once."""
    form = DeviceForm(sent(request))
    made = form if request.method == "POST" and written(form) else None
    context = {
        "form": form if made is None else DeviceForm(),
        "made": made,
        "devices": Device.objects.prefetch_related("sensors"),
        "refusals": refused_without_a_sensor(),
        "address": request.build_absolute_uri("/api/readings"),
        "broker_topic": "rack/NAME/temperature",
    }
    return render(request, "husbandry/device_list.html", context, status=422 if form.errors else 200)


@keeper_only
@require_POST
def device_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Its token opens nothing any more."""
    device = get_object_or_404(Device, pk=pk)
    try:
        devices.revoke(device)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Revoked: {device.name} sends nothing any more.")
    return redirect("husbandry:device-list")
