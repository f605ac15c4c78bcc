"""When something cannot be done: a page that says what to do next, or a short sentence for a fragment."""

import logging

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

logger = logging.getLogger(__name__)

SAYINGS = {
    400: "That request could not be read. Go back and try once more.",
    403: "This is the keeper’s to do.",
    404: "There is nothing at this address.",
    500: "Something broke, and nothing was saved. It is written in the log.",
}
OF_DJANGO = " matches the given query."  # how its own 404s end, which speak of models and queries
STALE_FORM = "This page was open for too long, or its cookie is gone. Load it again, and send it once more."


def _answer(request: HttpRequest, status: int, saying: str = "") -> HttpResponse:
    saying = saying or SAYINGS[status]
    if request.headers.get("HX-Request"):
        return HttpResponse(saying, status=status, content_type="text/plain; charset=utf-8")
    return render(request, f"{status}.html", {"saying": saying}, status=status)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400: a request that no form of ours sends."""
    return _answer(request, 400)


def permission_denied(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403: signed in, but not entitled; the view may say why."""
    return _answer(request, 403, str(exception))


def page_not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404: no such address, or no such animal; the view may say what to look at."""
    said = str(exception.args[0]) if exception.args and isinstance(exception.args[0], str) else ""
    return _answer(request, 404, "" if said.endswith(OF_DJANGO) else said)


def server_error(request: HttpRequest) -> HttpResponse:
    """500: our fault. The page leans on nothing that may be what broke."""
    try:
        return _answer(request, 500)
    except Exception:
        logger.exception("The error page itself could not be shown")
        return HttpResponse(SAYINGS[500], status=500, content_type="text/plain; charset=utf-8")


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token does not fit: nearly always a page left open; or another site trying."""
    return _answer(request, 403, STALE_FORM)
