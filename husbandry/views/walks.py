"""The rack walk: choosing, the one page of cards, the door for taps, the summary."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render, resolve_url
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.rights import helper_may, is_keeper
from husbandry import cards, isolation, walks
from husbandry.models import Place, Tap, Upkeep, Walk
from husbandry.views import parcels

SAME_START = timedelta(minutes=10)
LATEST_OPEN = 10


@helper_may
@require_http_methods(["GET", "POST"])
def walk_new(request: HttpRequest) -> HttpResponse:
    """Choose a rack, a room or the whole house, and set out; open walks can be gone on with."""
    if request.method == "POST":
        return _set_out(request)
    today = timezone.localdate()
    places = list(Place.objects.in_walking_order())
    own = _walks_of(request).filter(ended_at__isnull=True).select_related("place", "by")
    context = {
        "places": [(place, due) for place, due in _with_due(places)],
        "open": own[:LATEST_OPEN],
        "all_due": cards.enclosures(None, True, today).count(),
        "all": cards.enclosures(None, False, today).count(),
    }
    return render(request, "husbandry/walk_new.html", context)


def _set_out(request: HttpRequest) -> HttpResponse:
    """Begin a walk. A form that a browser sends twice leads to the same one, as long as nothing was tapped on it."""
    chosen = request.POST.get("place", "")
    place = get_object_or_404(Place, pk=int(chosen)) if chosen.isdecimal() and len(chosen) < 19 else None
    only_due = request.POST.get("only") == "due"
    stops = isolation.in_turn(
        list(cards.enclosures(place, only_due, timezone.localdate()).values_list("pk", flat=True))
    )
    if not stops:
        messages.info(request, f"{'Nothing is due' if only_due else 'Nobody lives'} in {place or 'the house'}.")
        return HttpResponseRedirect(reverse("husbandry:walk-new"))
    same = Walk.objects.filter(by=request.user.pk, place=place, only_due=only_due, ended_at=None, taps=None)
    walk = same.filter(started_at__gte=timezone.now() - SAME_START).first()
    if walk is None or walk.stops != stops:
        walk = Walk.objects.create(place=place, only_due=only_due, stops=stops, by_id=request.user.pk)
    return HttpResponseRedirect(reverse("husbandry:walk", args=[walk.pk]))


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
    here = reverse("husbandry:walk", args=[found.pk])
    data = cards.payload(found.stops, timezone.localdate()) | {
        "walk": found.pk,
        "began": found.started_at.isoformat(),
        "name": str(found.place or "the house"),
        "by": request.user.get_username(),
        "now": parcels.milliseconds(),
        "taps": reverse("husbandry:walk-taps", args=[found.pk]),
        "animal": reverse("collection:specimen-detail", args=[0]),
        "door": f"{resolve_url(settings.LOGIN_URL)}?{urlencode({'next': here})}",
        "reasons": dict(Tap.Reason.choices),
        "works": dict(Upkeep.Kind.choices),
        "done": _done(found),
    }
    return render(request, "husbandry/walk.html", {"walk": found, "data": data, "stops": len(data["stops"])})


def _done(walk: Walk) -> list[list[Any]]:
    """The taps that the house has and that were not taken back."""
    taps = walk.taps.filter(undone_by__isnull=True).exclude(kind="undo")
    return [
        [str(tap.key), tap.kind, tap.enclosure_id, tap.specimen_id, tap.detail, tap.happened_at.isoformat()]
        for tap in taps
    ]


@csrf_exempt
@login_not_required
@require_POST
def walk_taps(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in a parcel of taps. Never redirects: what is not a proper answer leaves the taps on the phone."""
    sent = parcels.opened(request)
    if isinstance(sent, JsonResponse):
        return sent
    found = _walks_of(request).filter(pk=pk).first()
    if found is None or sent.began not in (None, found.started_at.isoformat()):  # a restored backup numbers walks anew
        return parcels.stays(404, "This walk is not yours, or is not on record here. Sign in as the one who walked it.")
    answer = walks.take_in(found, sent.taps, sent.sent_at, request.user)
    if sent.waiting == 0 and len(answer.saved) == len(sent.taps):
        Walk.objects.filter(pk=found.pk).update(phone_empty_at=timezone.now())
    return parcels.answered(answer)


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
    came_to = walks.summary(found)
    context = {
        "walk": found,
        "summary": came_to,
        "left_out": cards.spots([pk for pk in found.stops if pk not in came_to.seen]),
        "taps": found.taps.select_related("specimen", "enclosure", "undone_by"),
        "stops": len(found.stops),
    }
    return render(request, "husbandry/walk_summary.html", context)
