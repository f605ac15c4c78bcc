"""Addresses of the climate."""

from django.urls import URLPattern, path

from husbandry.views import climate, readings, sensors

climate_paths: list[URLPattern] = [
    path("api/readings", readings.readings, name="readings"),
    path("racks/climate/", climate.sensor_list, name="sensor-list"),
    path("racks/climate/new/", sensors.sensor_edit, name="sensor-new"),
    path("racks/climate/tokens/", sensors.device_list, name="device-list"),
    path("racks/climate/tokens/<int:pk>/revoke/", sensors.device_revoke, name="device-revoke"),
    path("racks/climate/<int:pk>/", climate.sensor_detail, name="sensor-detail"),
    path("racks/climate/<int:pk>/edit/", sensors.sensor_edit, name="sensor-edit"),
    path("racks/climate/<int:pk>/hang/", sensors.sensor_hang, name="sensor-hang"),
    path("racks/climate/<int:pk>/reading/", sensors.reading_new, name="reading-new"),
    path("racks/climate/<int:pk>/calibrate/", sensors.calibrate, name="calibrate"),
    path("racks/climate/<int:pk>/tests/<int:test>/delete/", sensors.calibration_delete, name="calibration-delete"),
    path("racks/<int:pk>/climate/", climate.place_climate, name="place-climate"),
    path("enclosures/<int:pk>/climate/", climate.enclosure_climate, name="enclosure-climate"),
]
