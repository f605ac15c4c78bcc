"""What is kept apart and why, and who was near."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from collection import receipts
from collection.health import Found
from collection.htmx import send_to
from collection.models import HealthIssue, Quarantine, Specimen
from collection.rights import helper_may
from collection.services import Refused
from husbandry import exposure, isolation
from husbandry.models import Stay

CHOICES = (7, 14, 30, 60, 90, 180, 365)


@helper_may
@require_safe
def apart(request: HttpRequest) -> HttpResponse:
    """Enclosures kept apart, what stands beside them, and who is in quarantine where."""
    known = isolation.suspects()
    ids = [pk for suspect in known for inside in suspect.living.values() for pk in inside]
    near = Specimen.objects.filter(pk__in=ids).in_bulk()
    kept = Quarantine.objects.open().select_related("specimen__taxon", "specimen__standing").order_by("until", "id")
    where = {
        stay.specimen_id: stay.enclosure
        for stay in Stay.objects.open()
        .filter(specimen__in=kept.values("specimen"))
        .select_related("enclosure__place__parent")
    }
    context = {
        "suspects": [
            (suspect, [(near[pk], suspect.near[box]) for box, inside in suspect.living.items() for pk in inside])
            for suspect in known
        ],
        "kept": [(row, where.get(row.specimen_id)) for row in kept],
        "mixed": isolation.mixed(),
        "today": timezone.localdate(),
    }
    return render(request, "husbandry/apart.html", context)


def _issue(pk: int) -> HealthIssue:
    found = HealthIssue.objects.select_related("specimen__taxon", "specimen__standing", "specimen__arrival")
    return get_object_or_404(found, pk=pk)


@require_safe
def exposure_list(request: HttpRequest, pk: int) -> HttpResponse:
    """Who was near the animal of an issue, with dates and reasons; printing this page gives the list."""
    issue = _issue(pk)
    asked = request.GET.get("days", "")
    days = int(asked) if asked.isdecimal() and 1 <= len(asked) <= 4 else issue.facts.back_days
    days = min(max(days, 1), exposure.LONGEST_DAYS)
    today = timezone.localdate()
    rows = isolation.exposed(issue, days, today)
    context = {
        "issue": issue,
        "specimen": issue.specimen,
        "rows": rows,
        "days": days,
        "choices": sorted({*CHOICES, days}),
        "since": exposure.window(issue.earliest, days),
        "today": today,
        "looked": sum(row.check is not None for row in rows),
    }
    return render(request, "husbandry/exposure.html", context)


@require_POST
@receipts.once
def exposure_check(request: HttpRequest, pk: int, animal: int) -> HttpResponse:
    """One animal that was near was looked at: clear, or in doubt."""
    issue = _issue(pk)
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=animal)
    found = Found.DOUBTFUL if request.POST.get("found") == Found.DOUBTFUL.value else Found.CLEAR
    days = request.POST.get("days", "")
    try:
        isolation.record_check(issue, specimen, timezone.localdate(), found)
    except Refused as refusal:
        context = {"specimen": specimen, "sentence": str(refusal)}
        return render(request, "collection/refused.html", context, status=422)
    back = reverse("husbandry:exposure", args=[issue.pk])
    return send_to(request, f"{back}?days={days}" if days.isdecimal() else back)
