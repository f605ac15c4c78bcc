"""Addresses of the calendar."""

from django.urls import path

from config.calendars import views

app_name = "calendars"
urlpatterns = [
    path("calendar/<str:word>.ics", views.calendar, name="calendar"),
    path("settings/calendar/", views.page, name="page"),
    path("settings/calendar/make/", views.make, name="make"),
    path("settings/calendar/revoke/", views.revoke, name="revoke"),
]
