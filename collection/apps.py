"""App configuration."""

from django.apps import AppConfig


class CollectionConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "collection"
