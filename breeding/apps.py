"""App configuration."""

from django.apps import AppConfig


class BreedingConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "breeding"
