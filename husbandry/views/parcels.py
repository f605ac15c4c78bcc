"""The door for parcels of taps. It never redirects: what is not a proper answer leaves the taps on the phone."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from husbandry.parcels import Answer

MOST_TAPS = 200  # in one parcel; the phone sends the rest in the next


@dataclass(frozen=True)
class Parcel:
    """What a phone sent: its taps, when it sent them, what the first belongs to, and how many more wait there."""

    taps: list[Any]
    sent_at: Any
    began: Any
    waiting: Any


def milliseconds() -> int:
    """Now, as JavaScript counts."""
    return int(timezone.now().timestamp() * 1000)


def stays(status: int, why: str) -> JsonResponse:
    """An answer after which the taps stay on the phone."""
    return JsonResponse({"error": why}, status=status)


def answered(answer: Answer) -> JsonResponse:
    """What became of each tap, and what the house's clock says."""
    return JsonResponse({"saved": answer.saved, "refused": answer.refused, "now": milliseconds()})


def opened(request: HttpRequest) -> Parcel | JsonResponse:
    """The parcel of a request, or the answer to what is none."""
    if not request.user.is_authenticated:
        return stays(401, "Sign in again; nothing is lost.")
    if not _from_our_own_page(request):
        return stays(403, "Taps are taken from the page of the walk alone.")
    try:
        parcel = json.loads(request.body)
        taps = parcel["taps"]
        found = Parcel(taps, parcel.get("sent_at"), parcel.get("began"), parcel.get("waiting"))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return stays(400, "This is not a parcel of taps.")
    if not isinstance(taps, list) or len(taps) > MOST_TAPS:
        return stays(400, f"A parcel holds at most {MOST_TAPS} taps.")
    return found


def _from_our_own_page(request: HttpRequest) -> bool:
    """Whether a script of our own page sent this. A phone's token may be older than its sign-in, so the address of
    the page decides instead: browsers set it themselves, and JSON from elsewhere would need leave we never give."""
    origin = request.headers.get("Origin", "")
    json_body = request.content_type == "application/json"
    return json_body and origin == f"{request.scheme}://{request.get_host()}"
