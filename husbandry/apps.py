"""App configuration."""

from django.apps import AppConfig


class HusbandryConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "husbandry"
