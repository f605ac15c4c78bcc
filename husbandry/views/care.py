"""What is done in one tap, from a row or a card: fed, refused, water."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from collection import receipts
from collection.attention import Urgency
from collection.htmx import send_to, wants_fragment
from collection.models import Receipt, Specimen
from collection.rights import helper_may
from collection.services import Refused
from collection.views.specimens import said_of
from husbandry import services
from husbandry.models import Feeding, Hold, Upkeep
from husbandry.rhythm import Outcome


def _answer(request: HttpRequest, receipt: Receipt, specimen: Specimen, done: str) -> HttpResponse:
    """The row, done and with its undo; or the page one came from."""
    if wants_fragment(request):
        today = timezone.localdate()
        still = [said for _, said in said_of(specimen, today) if said.urgency in {Urgency.OVER, Urgency.DUE}]
        context = {
            "still": still,
            "specimen": specimen,
            "done": done,
            "receipt": receipt.pk,
            "now": timezone.localtime(receipt.at),
            "back": request.POST.get("back", ""),
        }
        return render(request, "collection/_row_done.html", context)
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure())
    return send_to(request, back if safe else reverse("dashboard"))


def _refused(request: HttpRequest, specimen: Specimen, sentence: str) -> HttpResponse:
    """Say why it was not written; nothing was."""
    context = {"specimen": specimen, "sentence": sentence}
    template = "collection/_row_refused.html" if wants_fragment(request) else "collection/refused.html"
    return render(request, template, context, status=422)


def _again(request: HttpRequest, receipt: Receipt, pk: int) -> HttpResponse:
    """The same tap once more: the same answer, and nothing written."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    meals = [write["pk"] for write in receipt.entries if write["model"] == Feeding._meta.label_lower]
    fed = Feeding.objects.filter(pk__in=meals).first()
    if receipt.undone_at is not None:
        return _answer(request, receipt, specimen, "Taken back.")
    done = Upkeep.objects.filter(pk__in=[w["pk"] for w in receipt.entries if w["model"] == "husbandry.upkeep"]).first()
    return _answer(request, receipt, specimen, _said(fed) if fed else _done_said(done) if done else "Done.")


def _said(feeding: Feeding) -> str:
    prey = feeding.prey or "food"
    return f"Took {prey}." if feeding.outcome == Outcome.TAKEN.value else f"Refused {prey}."


@helper_may
@require_POST
@receipts.once_answering(_again)
def feed_now(request: HttpRequest, pk: int) -> HttpResponse:
    """Fed or refused today, with the prey of last time."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    outcome = request.POST.get("outcome", "")
    if outcome not in {Outcome.TAKEN.value, Outcome.REFUSED.value}:
        return HttpResponseBadRequest("Say whether the food was taken or refused.")
    last = specimen.feedings.first()
    feeding = Feeding(
        specimen=specimen,
        on=timezone.localdate(),
        outcome=outcome,
        prey=last.prey if last else "",
        prey_mm=last.prey_mm if last else None,
        number=last.number if last else 1,
    )
    try:
        services.record_feeding(feeding)
    except Refused as refusal:
        return _refused(request, specimen, str(refusal))
    return _answer(request, receipts.current(), specimen, _said(feeding))


@helper_may
@require_POST
@receipts.once_answering(_again)
def water_now(request: HttpRequest, pk: int) -> HttpResponse:
    """Water done today, for the enclosure this animal stands in."""
    return _done_today(request, pk, Upkeep.Kind.WATER.value)


@helper_may
@require_POST
@receipts.once_answering(_again)
def upkeep_now(request: HttpRequest, pk: int) -> HttpResponse:
    """Misting, cleaning and the like, done today."""
    kind = request.POST.get("kind", "")
    if kind not in Upkeep.Kind.values:
        return HttpResponseBadRequest("Say what was done.")
    return _done_today(request, pk, kind)


def _done_today(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    enclosure = services.enclosure_of(specimen)
    if enclosure is None:
        return _refused(request, specimen, f"{specimen.code} stands in no enclosure yet. Move it into one first.")
    done = Upkeep(enclosure=enclosure, kind=kind, on=timezone.localdate())
    services.record_upkeep(done)
    return _answer(request, receipts.current(), specimen, _done_said(done))


def _done_said(done: Upkeep) -> str:
    return f"{done.get_kind_display().capitalize()} done."


@require_POST
@receipts.once
def lift_hold(request: HttpRequest, pk: int) -> HttpResponse:
    """End a hold today."""
    hold = get_object_or_404(Hold.objects.select_related("specimen__taxon", "specimen__standing"), pk=pk)
    try:
        services.lift_hold(hold, timezone.localdate())
    except Refused as refusal:
        return _refused(request, hold.specimen, str(refusal))
    return send_to(request, hold.specimen.get_absolute_url())
