"""All that views need to know of htmx: is this a fragment, and how to send someone on."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails


def wants_fragment(request: HttpRequest) -> bool:
    """Whether the answer is swapped into a page, and not a page itself."""
    details: HtmxDetails | None = getattr(request, "htmx", None)
    return bool(details) and not (details.boosted or details.history_restore_request)  # type: ignore[union-attr]


def send_to(request: HttpRequest, url: str) -> HttpResponse:
    """Send the browser to a page, whichever way it asked."""
    return HttpResponseClientRedirect(url) if wants_fragment(request) else HttpResponseRedirect(url)
