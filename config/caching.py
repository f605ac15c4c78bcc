"""What browsers may keep: pages are private and asked for again, fragments are never kept."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers


class PageCachingMiddleware:
    """Page and fragment share an address, so the two must not be mistaken for each other in a cache."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.get("Content-Type", "").startswith("text/html"):
            patch_vary_headers(response, ["HX-Request"])
            rule = "no-store" if request.headers.get("HX-Request") else "private, no-cache"
            response.headers.setdefault("Cache-Control", rule)
        return response
