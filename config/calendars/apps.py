"""App configuration."""

from django.apps import AppConfig


class CalendarsConfig(AppConfig):
    """Addresses of calendars, and what stood in them."""

    name = "config.calendars"
    label = "calendars"
    verbose_name = "Calendars"
