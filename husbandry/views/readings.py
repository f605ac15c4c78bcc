"""Where devices send their readings: one address, a token for each device, an answer in JSON."""

from __future__ import annotations

import json
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from husbandry.climate_services import devices, ingest
from husbandry.climate_services.flood import sluice
from husbandry.intake import Reason
from husbandry.models import Device

MOST_BYTES = 1024 * 1024  # ten thousand readings, with room
MOST_SAID = 20  # refusals told in one answer; all of them are counted
UNKNOWN = "The token is missing, mistyped or revoked."
FLOOD = "Too many messages at once. Send several readings in one list."
TOO_LARGE = f"A message holds at most {MOST_BYTES // 1024:,} KB and {ingest.MOST_READINGS:,} readings."


@csrf_exempt
@login_not_required
@require_POST
def readings(request: HttpRequest) -> JsonResponse:
    """Take in one reading or a list of them. What is large is refused before it is looked at."""
    device = _sender(request)
    if device is None:
        return _turned_away("nobody", Reason.TOKEN, UNKNOWN, 401)
    if not sluice.lets_in(str(device.pk)):
        return _turned_away(str(device.pk), Reason.FLOOD, FLOOD, 429, device)
    if _size(request) > MOST_BYTES:
        ingest.count_refused(Reason.TOO_LARGE, TOO_LARGE, device)
        return _error(TOO_LARGE, 413)
    try:
        content = json.loads(request.body)
    except (ValueError, RecursionError):
        ingest.count_refused(Reason.SHAPE, "The message is no JSON.", device)
        return _error("The message is no JSON.", 400)
    messages = content if isinstance(content, list) else [content]
    answer = ingest.take_messages(messages, timezone.now(), device)
    status = 422 if answer.refused and not answer.stored and not answer.repeated else 200
    return JsonResponse(_told(answer), status=status)


def _sender(request: HttpRequest) -> Device | None:
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    if scheme.casefold() == "bearer":
        return devices.known_by(token.strip())
    return devices.known_by(request.GET.get("token", ""), in_query=True)


def _size(request: HttpRequest) -> int:
    """How many bytes are announced."""
    announced = request.META.get("CONTENT_LENGTH") or "0"
    return int(announced) if announced.isdecimal() else 0


def _turned_away(caller: str, reason: Reason, sentence: str, status: int, device: Device | None = None) -> JsonResponse:
    """A refusal that costs next to nothing: it is counted in memory and written down once a second at most."""
    sluice.turn_away(caller)
    number = sluice.to_tell(caller)
    if number:
        ingest.count_refused(reason, sentence, device, number)
    answer = _error(sentence, status)
    if status == 429:
        answer["Retry-After"] = "10"
    return answer


def _error(sentence: str, status: int) -> JsonResponse:
    return JsonResponse({"error": sentence}, status=status)


def _told(answer: ingest.Answer) -> dict[str, Any]:
    refused = [
        {"index": position, "reason": reason.value, "says": sentence}
        for position, reason, sentence in sorted(answer.refused)[:MOST_SAID]
    ]
    return {
        "stored": answer.stored,
        "repeated": answer.repeated,
        "refused": len(answer.refused),
        "reasons": refused,
    }
