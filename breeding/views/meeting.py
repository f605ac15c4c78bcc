"""A meeting: what is noted before it, the log on the phone while it happens, and the door for its taps."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render, resolve_url
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from breeding import before as known
from breeding import livelog, loans, meetwords, sittings
from breeding.forms import BeforeForm
from breeding.forms_meet import MeetForm
from breeding.livelog import Seen
from breeding.models import Meeting, Pairing
from collection import receipts
from collection.htmx import send_to
from collection.models import Specimen
from collection.rights import is_keeper
from collection.stages import Group
from collection.views.log import sent, written
from husbandry.views import parcels


@require_http_methods(["GET", "POST"])
@receipts.once
def before(request: HttpRequest, pk: int) -> HttpResponse:
    """A way out for him, a retreat for her, what to watch for."""
    pairing = get_object_or_404(Pairing.objects.for_display(), pk=pk)
    form: Any = BeforeForm(sent(request), pairing=pairing)
    posted = request.method == "POST"
    log = request.GET.get("to") == "log"  # asked for from the log of a meeting, which goes on afterwards
    back = reverse("breeding:live", args=[pk]) if log else pairing.get_absolute_url()
    if posted and written(form):
        return send_to(request, back)
    context = {"form": form, "specimen": pairing.female, "action": request.get_full_path(), "back": back}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def meet(request: HttpRequest, pk: int) -> HttpResponse:
    """Whom this animal meets now; then the stopwatch."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    form: Any = MeetForm(sent(request), specimen=specimen)
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, reverse("breeding:live", args=[form.pairing.pk]))
    context = {"form": form, "specimen": specimen, "action": request.path}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)


@require_safe
def live(request: HttpRequest, pk: int) -> HttpResponse:
    """Cautions and risk first; then the stopwatch and one tap a sign, all on this one page."""
    pairing = get_object_or_404(Pairing.objects.for_display(), pk=pk)
    group, now = Group(pairing.female.taxon.group), timezone.now()
    context = {
        "pairing": pairing,
        "factors": known.factors(pairing, timezone.localdate()),
        "terms": loans.terms_of(pairing.male),
        "minded": meetwords.words_of(group).cautions,
        "climate": sittings.climate_of(pairing, now),
        "meetings": list(pairing.meetings.all()),
        "data": _data(request, pairing, group),
    }
    return render(request, "breeding/live.html", context)


def _data(request: HttpRequest, pairing: Pairing, group: Group) -> dict[str, Any]:
    """What the script of the page needs."""
    door = {"next": reverse("breeding:live", args=[pairing.pk])}
    done = sittings.running(pairing)
    words = {seen.value: livelog.word(seen, group) for seen in Seen}
    return {
        "pair": sittings.pair_of(pairing),
        "name": f"{pairing.female.code} × {pairing.male.code if pairing.male else 'unknown male'}",
        "by": request.user.get_username(),
        "since": timezone.now().isoformat(),
        "now": parcels.milliseconds(),
        "taps": reverse("breeding:meeting-taps", args=[pairing.pk]),
        "form": reverse("breeding:meeting-new", args=[pairing.pk]),
        "page": pairing.get_absolute_url(),
        "door": f"{resolve_url(settings.LOGIN_URL)}?{urlencode(door)}",
        "rows": [[seen.value for seen in row] for row in livelog.signs(group)],
        "words": words,
        "endings": {one: Meeting.Ending(one).label for one in livelog.ENDINGS},
        "done": [[str(tap.key), str(tap.sitting), tap.kind, tap.at.isoformat()] for tap in done],
    }


@csrf_exempt
@login_not_required
@require_POST
def taps(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in a parcel of taps. Never redirects: what is not a proper answer leaves the taps on the phone."""
    found = parcels.opened(request)
    if isinstance(found, JsonResponse):
        return found
    pairing = Pairing.objects.for_display().filter(pk=pk).first()
    if pairing is None or not is_keeper(request.user):
        return parcels.stays(404, "This pairing is not on record here, or is not yours. Sign in as the keeper.")
    return parcels.answered(sittings.take_in(pairing, found.taps, found.sent_at, request.user))
