"""A season of whole months, as two fields of a form."""

from __future__ import annotations

from typing import Any

from django import forms

SEASON_HELP = "For a rhythm of winter or summer: it is followed each year after meals in these months."


def season_fields(form: Any) -> None:
    """Neither end need be chosen."""
    for name in ("season_from", "season_to"):
        form.fields[name].required = False


def clean_season(form: forms.BaseForm, data: dict[str, Any]) -> None:
    """A season has two ends, or none."""
    for name in ("season_from", "season_to"):
        data[name] = data.get(name) or 0
        setattr(form.instance, name, data[name])  # type: ignore[attr-defined]
    if bool(data["season_from"]) != bool(data["season_to"]):
        form.add_error("season_to", "A season has a first and a last month. Choose both, or “all year” for both.")
