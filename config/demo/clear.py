"""Emptying a database of its invented collection; taxa and accounts stay."""

from __future__ import annotations

from django.apps import apps
from django.db import connection

STAYS = {"taxon", "taxonname", "listing", "historicaltaxon", "historicaltaxonname", "historicallisting"}


def everything() -> None:
    """Delete all rows of the three apps but the taxa. Inside a transaction: references are checked at its end."""
    with connection.cursor() as cursor:
        for label in ("breeding", "husbandry", "collection"):
            for model in apps.get_app_config(label).get_models():
                if model._meta.model_name not in STAYS:
                    cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")
