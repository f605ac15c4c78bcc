"""App configuration."""

from django.apps import AppConfig


class HusbandryConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "husbandry"

    def ready(self) -> None:
        """Import what registers itself; nothing else happens here."""
        from husbandry import (  # noqa: F401 - registers
            attention_sources,
            climate_attention,
            exporting,
            health_attention,
            hold_sources,
            importing,
            premolt_source,
            reading_import,
            services,
            specimen_panels,
            upkeep_sources,
        )
