"""App configuration."""

from django.apps import AppConfig


class BreedingConfig(AppConfig):
    """See DEVELOPERS.md for what belongs here."""

    name = "breeding"

    def ready(self) -> None:
        """Import what registers itself; nothing else happens here."""
        from breeding import (  # noqa: F401 - registers
            attention_sources,
            brood_sources,
            descents,
            forecast_sources,
            hold_sources,
            importing,
            isolation,
            kin,
            premolt_source,
            rhythm_sources,
            specimen_panels,
            time_attention,
            year_sources,
        )
