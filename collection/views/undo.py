"""Taking back one's own last entries."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlsplit

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from collection import receipts
from collection.htmx import send_to
from collection.models import Receipt
from collection.receipts import CannotUndo
from collection.rights import helper_may, is_keeper

HELPER_UNDO = timedelta(minutes=10)


@helper_may
@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back all that one form wrote: the keeper any time, a helper the own entries of the last ten minutes."""
    receipt = get_object_or_404(Receipt, pk=pk)
    own = receipt.user_id == request.user.pk and timezone.now() - receipt.at <= HELPER_UNDO
    if not (is_keeper(request.user) or own):
        raise PermissionDenied
    made = receipts.pages_made(receipt)
    back = _back(request)
    try:
        receipts.undo(receipt)
    except CannotUndo as refusal:
        messages.error(request, f"Not taken back: {receipt.label}. {refusal}")
    else:
        messages.info(request, f"Taken back: {receipt.label}.")
        back = reverse("dashboard") if urlsplit(back).path in made else back
    return send_to(request, back)


def _back(request: HttpRequest) -> str:
    """The page the keeper was on, when it is one of ours."""
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure())
    return back if safe else reverse("dashboard")
