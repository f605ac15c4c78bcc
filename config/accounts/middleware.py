"""Nobody gets past without signing in, and a helper only where helpers may go."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import resolve_url
from django.utils.http import urlencode
from django_htmx.http import HttpResponseClientRedirect

from collection.rights import is_for_helpers, is_keeper
from config.accounts import devices

NOT_FOR_HELPERS = "This is the keeper’s to do. As a helper you log what happens at the enclosures."


class SignedInMiddleware(LoginRequiredMiddleware):
    """Sign-in everywhere but where `login_not_required` says otherwise."""

    def process_view(
        self, request: HttpRequest, view_func: Callable[..., Any], view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        """Lead a page to the sign-in page. A fragment would show that page inside itself: lead its whole page there."""
        refusal = super().process_view(request, view_func, view_args, view_kwargs)
        if refusal is None or not request.headers.get("HX-Request"):
            return refusal
        back = _shown(request.headers.get("HX-Current-URL", ""))
        return HttpResponseClientRedirect(f"{resolve_url(self.get_login_url(view_func))}?{urlencode({'next': back})}")


def _shown(address: str) -> str:
    """The page that the browser shows, without its house; the first page where the address is none."""
    try:
        shown = urlsplit(address)
    except ValueError:
        return "/"
    return shown.path + (f"?{shown.query}" if shown.query else "") or "/"


class RightsMiddleware:
    """A helper sees only views that are marked for helpers; what carries no mark is the keeper's."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any) -> None:
        """Refuse before the view runs."""
        open_to_all = not getattr(view, "login_required", True)
        if not (open_to_all or is_for_helpers(view) or is_keeper(request.user)):
            raise PermissionDenied(NOT_FOR_HELPERS)


class DeviceMiddleware:
    """Keeps a session that is in use alive, with at most one write a day."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        devices.renew(request)
        return self.get_response(request)
