"""Sex evidence of one animal: all of it weighed, a look mended, a look withdrawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from collection import figures, receipts
from collection.forms.evidence import MendForm, WithdrawForm
from collection.htmx import send_to
from collection.models import Photo, SexEvidence, Specimen
from collection.models.likelihoods import likelihoods_in_force
from collection.sexing import Reason, say_weight, weigh
from collection.standing import coming_looks, observations, open_still
from collection.views.log import sent, versions, written

LOOKS_SHOWN = 3


@dataclass(frozen=True)
class Weighed:
    """One entry, what it weighs, who withdrew it, and the pictures of its skin or of what was seen."""

    row: SexEvidence
    reason: Reason | None
    says: str
    bar: figures.Balance | None
    withdrawn_by: str
    photos: list[Photo]


@require_safe
def specimen_evidence(request: HttpRequest, pk: int) -> HttpResponse:
    """All sex evidence, how each piece moves the verdict, what a next look could bring, and what can be withdrawn."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    rows = list(
        specimen.sex_evidence.select_related("molt", "mended_by")
        .prefetch_related("photos", "molt__photos")
        .order_by("earliest", "id")
    )
    table = likelihoods_in_force()
    seen = observations(rows, specimen)
    verdict = weigh(seen, likelihoods=table)
    counted = [row for row in rows if not row.withdrawn]
    reasons = {counted[reason.observation].pk: reason for reason in verdict.reasons}
    gone = _withdrawals([row.pk for row in rows if row.withdrawn])
    context = {
        "specimen": specimen,
        "verdict": verdict,
        "rows": [_weighed(row, reasons.get(row.pk), gone.get(row.pk, "")) for row in reversed(rows)],
        "looks": coming_looks(specimen, seen, table)[:LOOKS_SHOWN] if open_still(verdict) else [],
    }
    return render(request, "collection/specimen_evidence.html", context)


def _weighed(row: SexEvidence, reason: Reason | None, withdrawn_by: str) -> Weighed:
    counts = reason is not None and reason.counted
    weight = reason.weight if reason else 0.0
    shown = dict.fromkeys([*row.photos.all(), *(row.molt.photos.all() if row.molt else [])])
    bar = figures.balance(weight) if counts else None
    return Weighed(row, reason, say_weight(weight), bar, withdrawn_by, list(shown))


def _withdrawals(ids: list[int]) -> dict[int, str]:
    """When and by whom each was withdrawn, from the history."""
    history: Any = SexEvidence.history
    found: dict[int, str] = {}
    for old in history.filter(id__in=ids).exclude(withdrawn="").select_related("history_user").order_by("-history_id"):
        who = f" by {old.history_user}" if old.history_user else ""
        found[old.id] = f"{timezone.localdate(old.history_date)}{who}"
    return found


@require_http_methods(["GET", "POST"])
@receipts.once
def evidence_mend(request: HttpRequest, pk: int, event: int) -> HttpResponse:
    """A look that was written down wrongly: withdrawn with a reason, and logged anew."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    wrong = get_object_or_404(specimen.sex_evidence, pk=event)
    form = MendForm(sent(request), specimen=specimen, wrong=wrong)
    if request.method == "POST" and written(form):
        return send_to(request, specimen.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "specimen": specimen, "action": request.path, "versions": versions(wrong), "wrong": wrong}
    return render(request, "collection/evidence_mend.html", context, status=status)


@require_http_methods(["GET", "POST"])
@receipts.once
def evidence_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a piece of evidence out of the weighing, with a reason; the row stays."""
    row = get_object_or_404(SexEvidence.objects.select_related("specimen__taxon", "specimen__standing"), pk=pk)
    form = WithdrawForm(sent(request), instance=row)
    if request.method == "POST" and written(form):
        return send_to(request, row.specimen.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "specimen": row.specimen, "action": request.path}
    return render(request, "collection/log_form.html", context, status=status)
