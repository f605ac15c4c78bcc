"""The rack walk: choosing, the one page of cards, the door for taps, the summary."""

from __future__ import annotations

import json
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.rights import helper_may, is_keeper
from husbandry import cards, walks
from husbandry.models import Place, Walk

MOST_TAPS = 200  # in one parcel; the phone sends the rest in the next


@helper_may
@require_http_methods(["GET", "POST"])
def walk_new(request: HttpRequest) -> HttpResponse:
    """Choose a rack, a room or the whole house, and set out; open walks can be gone on with."""
    if request.method == "POST":
        chosen = request.POST.get("place", "")
        place = get_object_or_404(Place, pk=int(chosen)) if chosen.isdigit() else None
        only_due = request.POST.get("only") == "due"
        stops = list(cards.enclosures(place, only_due, timezone.localdate()).values_list("pk", flat=True))
        walk = Walk.objects.create(place=place, only_due=only_due, stops=stops, by_id=request.user.pk)
        return HttpResponseRedirect(reverse("husbandry:walk", args=[walk.pk]))
    today = timezone.localdate()
    places = list(Place.objects.in_walking_order())
    context = {
        "places": [(place, due) for place, due in _with_due(places)],
        "open": _walks_of(request).filter(ended_at__isnull=True).select_related("place")[:5],
        "all_due": cards.enclosures(None, True, today).count(),
        "all": cards.enclosures(None, False, today).count(),
    }
    return render(request, "husbandry/walk_new.html", context)


def _with_due(places: list[Place]) -> list[tuple[Place, int]]:
    due = cards.due_stops(places, timezone.localdate())
    return [(place, due[place.pk]) for place in places]


def _walks_of(request: HttpRequest) -> Any:
    """The keeper sees every walk, a helper the own ones."""
    return Walk.objects.all() if is_keeper(request.user) else Walk.objects.filter(by=request.user.pk)


@helper_may
@require_safe
def walk(request: HttpRequest, pk: int) -> HttpResponse:
    """The page that holds the whole walk; nothing is fetched between two taps."""
    found = get_object_or_404(_walks_of(request).select_related("place"), pk=pk)
    today = timezone.localdate()
    taps = found.taps.filter(undone_by__isnull=True).exclude(kind="undo")
    data = cards.payload(found.stops, today) | {
        "walk": found.pk,
        "taps": reverse("husbandry:walk-taps", args=[found.pk]),
        "reasons": walks.NOT_OFFERED,
        "done": [
            [str(tap.key), tap.kind, tap.enclosure_id, tap.specimen_id, tap.detail, tap.happened_at.isoformat()]
            for tap in taps
        ],
    }
    return render(request, "husbandry/walk.html", {"walk": found, "data": data, "stops": len(data["stops"])})


def _from_our_own_page(request: HttpRequest) -> bool:
    """Whether a script of our own page sent this. A phone's token may be older than its sign-in, so the address of
    the page decides instead: browsers set it themselves, and JSON from elsewhere would need leave we never give."""
    origin = request.headers.get("Origin", "")
    json_body = request.content_type == "application/json"
    return json_body and origin == f"{request.scheme}://{request.get_host()}"


@csrf_exempt
@login_not_required
@require_POST
def walk_taps(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in a parcel of taps. Never redirects: what is not a proper answer leaves the taps on the phone."""
    if not request.user.is_authenticated:
        return JsonResponse({"error": "Sign in again; nothing is lost."}, status=401)
    if not _from_our_own_page(request):
        raise PermissionDenied
    found = get_object_or_404(_walks_of(request), pk=pk)
    try:
        parcel = json.loads(request.body)
        taps, sent_at, waiting = parcel["taps"], parcel.get("sent_at"), parcel.get("waiting")
    except (ValueError, KeyError, TypeError, AttributeError):
        return JsonResponse({"error": "This is not a parcel of taps."}, status=400)
    if not isinstance(taps, list) or len(taps) > MOST_TAPS:
        return JsonResponse({"error": f"A parcel holds at most {MOST_TAPS} taps."}, status=400)
    answer = walks.take_in(found, taps, sent_at, request.user)
    if waiting == 0 and not answer.refused:
        Walk.objects.filter(pk=found.pk).update(phone_empty_at=timezone.now())
    return JsonResponse({"saved": answer.saved, "refused": answer.refused})


@helper_may
@require_http_methods(["GET", "POST"])
def walk_summary(request: HttpRequest, pk: int) -> HttpResponse:
    """What the walk came to; ending it, or going on."""
    found = get_object_or_404(_walks_of(request).select_related("place", "by"), pk=pk)
    if request.method == "POST":
        found.ended_at = None if request.POST.get("again") else timezone.now()
        found.save(update_fields=["ended_at"])
        onward = "husbandry:walk" if found.ended_at is None else "husbandry:walk-summary"
        return HttpResponseRedirect(reverse(onward, args=[found.pk]))
    stops = len(found.stops)
    taps = found.taps.select_related("specimen", "enclosure", "undone_by")
    context = {"walk": found, "summary": walks.summary(found, stops), "taps": taps, "stops": stops}
    return render(request, "husbandry/walk_summary.html", context)
