"""App configuration."""

from django.apps import AppConfig


class CollectionConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "collection"

    def ready(self) -> None:
        """Import what registers itself; nothing else happens here."""
        from collection import (  # noqa: F401 - registers
            attention_sources,
            forecast_sources,
            growing,
            health_attention,
            health_panels,
            health_services,
            receipts,
            specimen_panels,
            year_sources,
        )
        from collection.exporting import lists  # noqa: F401 - registers
        from collection.importing import animals, molts, parents  # noqa: F401 - registers
        from collection.photos import keeping, panel  # noqa: F401 - registers
