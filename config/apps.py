"""The composition root as an app: it brings the commands, and imports every other app."""

from django.apps import AppConfig


class ConfigApp(AppConfig):
    """Commands, dashboard, error pages."""

    name = "config"
    verbose_name = "Scopula"
