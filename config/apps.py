"""The composition root as an app: it brings the commands, and imports every other app."""

from django.apps import AppConfig


class ConfigApp(AppConfig):
    """Commands, dashboard, error pages."""

    name = "config"
    verbose_name = "Scopula"

    def ready(self) -> None:
        """Import what registers itself; nothing else happens here."""
        from config import attention_sources  # noqa: F401 - registers
