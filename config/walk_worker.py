"""The script that lets a walk open without any network. It must lie at the root, where it may answer for all pages."""

from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

SCRIPT = "walk-worker.js"


@login_not_required  # browsers ask for it anew by themselves, also after the session ended
@require_safe
def walk_worker(request: HttpRequest) -> HttpResponse:
    """The script itself, asked for again each time, so that an update reaches the phones."""
    found = finders.find(SCRIPT)
    if not isinstance(found, str):
        raise Http404
    response = HttpResponse(Path(found).read_bytes(), content_type="text/javascript; charset=utf-8")
    response.headers["Cache-Control"] = "no-cache"
    return response
