"""App configuration."""

from django.apps import AppConfig


class CollectionConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "collection"

    def ready(self) -> None:
        """Import what registers itself; nothing else happens here."""
        from collection import attention_sources, forecast_sources, receipts, specimen_panels  # noqa: F401 - registers
        from collection.importing import animals, molts  # noqa: F401 - registers
