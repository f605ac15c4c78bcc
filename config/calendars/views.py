"""The calendar itself, and the page on which a person makes or revokes its address."""

from __future__ import annotations

import hashlib
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from collection.rights import helper_may
from config.accounts import invitations
from config.accounts.invitation_views import house_address
from config.calendars import addresses, days, text
from config.calendars.models import CalendarAddress
from husbandry.models import LabelAddress


@login_not_required
@require_safe
def calendar(request: HttpRequest, word: str) -> HttpResponseBase:
    """What is due, for whoever holds the address; read only."""
    today = timezone.localdate()
    if addresses.reader(word, today) is None:
        raise Http404("There is no calendar at this address. Make a new address on the settings page.")
    house = LabelAddress.of_the_house().lower()
    body = text.write("Scopula", days.entries(today, timezone.now()), f"{house}/" if house else "")
    etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    answer = HttpResponse(body, content_type="text/calendar; charset=utf-8", headers={"ETag": etag})
    answer["Content-Disposition"] = 'inline; filename="scopula.ics"'
    patch_cache_control(answer, private=True, no_cache=True)
    return get_conditional_response(request, etag=etag, response=answer) or answer


@helper_may
@require_safe
@never_cache
def page(request: HttpRequest) -> HttpResponse:
    """Whether this person has an address, and the button that makes one."""
    return _page(request)


@helper_may
@require_POST
@never_cache
def make(request: HttpRequest) -> HttpResponse:
    """Make an address and show it, this once."""
    word = addresses.make(cast(User, request.user), request.POST.get("once", ""), timezone.now())
    url = house_address(request) + reverse("calendars:calendar", args=[word])
    picture = mark_safe(invitations.drawing(url))  # drawn by us: the address is in it as squares
    return _page(request, made={"url": url, "webcal": "webcal" + url.removeprefix("https").removeprefix("http"),
                                "picture": picture})  # fmt: skip


@helper_may
@require_POST
def revoke(request: HttpRequest) -> HttpResponse:
    """End the address at once."""
    if addresses.revoke(cast(User, request.user)):
        messages.success(request, "The address is revoked. Calendars that still ask get nothing any more.")
    else:
        messages.info(request, "There was no address to revoke.")
    return redirect("calendars:page")


def _page(request: HttpRequest, made: dict[str, Any] | None = None) -> HttpResponse:
    address = CalendarAddress.objects.filter(user=cast(User, request.user)).first()
    return render(request, "config/calendar.html", {"address": address, "made": made})
