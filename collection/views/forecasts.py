"""How often were we right: forecasts that are over, scored."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection import scores


@require_safe
def forecast_scores(request: HttpRequest) -> HttpResponse:
    """By kind and taxon: how often windows held, and how far off the middle was."""
    today = timezone.localdate()
    kinds = scores.of_kinds(today)
    context = {
        "kinds": kinds,
        "told": any(kind.over or kind.running for kind in kinds),
        "latest": scores.latest(today),
    }
    return render(request, "collection/forecast_scores.html", context)
