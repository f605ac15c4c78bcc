"""Getting in, getting out, and letting others in."""

from __future__ import annotations

import math
import secrets
import time
from datetime import datetime
from datetime import time as clock
from typing import Any

from django.conf import settings
from django.contrib import auth, messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from collection.rights import helper_may, is_keeper, keeper_only
from config.accounts import devices, services, setup_code, throttle
from config.accounts.forms import HelperForm, InvitationForm, SetupForm, SignInForm
from config.accounts.models import Invitation

gate = throttle.Gate()
A_YEAR = 365 * 24 * 60 * 60


@login_not_required
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def setup(request: HttpRequest) -> HttpResponse:
    """The first account. The page is gone once there is one."""
    if not setup_code.is_needed():
        raise Http404
    form = SetupForm(request.POST or None, needs_code=not setup_code.is_at_the_machine(request))
    if request.method == "GET":
        return render(request, "config/setup.html", {"form": form})
    keys = throttle.keys_for("first account", _address(request))
    if wait := gate.enter(keys, time.monotonic()):
        return _too_soon(request, "config/setup.html", form, wait)
    if not form.is_valid():
        return render(request, "config/setup.html", {"form": form}, status=422)
    try:
        user = services.create_first_keeper(form.cleaned_data["username"], form.cleaned_data["password1"])
    except services.NotPossible as refusal:
        messages.error(request, str(refusal))
        return redirect("accounts:sign-in")
    gate.clear(keys)
    return welcome(request, user, "/")


@login_not_required
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name, password, and back to where one was going."""
    if setup_code.is_needed():
        return redirect("accounts:setup")
    destination = _destination(request)
    if request.method == "GET":
        return render(request, "config/sign_in.html", {"form": SignInForm(request), "next": destination})
    form = SignInForm(request, request.POST)
    keys = _keys(request)
    if wait := gate.enter(keys, time.monotonic()):
        return _too_soon(request, "config/sign_in.html", SignInForm(request), wait)
    if not form.is_valid():
        return render(request, "config/sign_in.html", {"form": form, "next": destination}, status=422)
    gate.clear(keys)
    return welcome(request, form.get_user(), destination)


@helper_may
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End this device's session."""
    auth.logout(request)
    return redirect("accounts:sign-in")


@helper_may
@require_GET
def device_list(request: HttpRequest) -> HttpResponse:
    """Who is signed in where: the keeper sees everybody's devices, a helper their own."""
    found = devices.signed_in(_people_seen_by(request), request.session.session_key)
    return render(request, "config/devices.html", {"devices": found})


@helper_may
@require_POST
def device_sign_out(request: HttpRequest, device_id: str) -> HttpResponse:
    """End one device's session from afar."""
    if not devices.sign_out(set(_people_seen_by(request)), device_id):
        messages.info(request, "That device was signed out already.")
    return redirect("accounts:devices")


@helper_may
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def password(request: HttpRequest) -> HttpResponse:
    """A new password; every other device has to sign in again."""
    form = PasswordChangeForm(_account(request), request.POST or None)
    if request.method == "GET":
        return render(request, "config/password.html", {"form": form})
    if not form.is_valid():
        return render(request, "config/password.html", {"form": form}, status=422)
    user = form.save()
    auth.update_session_auth_hash(request, user)
    ended = devices.sign_out({str(user.pk)}, but_not=request.session.session_key)
    messages.success(request, f"The password is changed. Other devices signed out: {ended}.")
    return redirect("accounts:devices")


@keeper_only
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def people(request: HttpRequest) -> HttpResponse:
    """Everybody with an account or an open invitation, and the two ways to let a helper in."""
    form = HelperForm(request.POST or None)
    if request.method == "POST" and _admit(request, form):
        return redirect("accounts:people")
    return people_page(request, admitting=form, status=422 if request.method == "POST" else 200)


def people_page(
    request: HttpRequest,
    *,
    inviting: InvitationForm | None = None,
    admitting: HelperForm | None = None,
    made: dict[str, Any] | None = None,
    status: int = 200,
) -> HttpResponse:
    """The page with what was sent, refused or made on it."""
    context = {
        "people": User.objects.select_related("helper_term").order_by("-is_superuser", "username"),
        "invitations": Invitation.objects.open(timezone.now()),
        "inviting": inviting or InvitationForm(auto_id="invite_%s"),
        "admitting": admitting or HelperForm(),
        "made": made,
        "today": timezone.localdate(),
    }
    return render(request, "config/people.html", context, status=status)


@keeper_only
@require_POST
def end_helper(request: HttpRequest, pk: int) -> HttpResponse:
    """Shut a helper out at once."""
    user = get_object_or_404(User, pk=pk)
    try:
        services.end_helper(user)
    except services.NotPossible as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{user.get_username()} is signed out everywhere and cannot sign in any more.")
    return redirect("accounts:people")


def _admit(request: HttpRequest, form: HelperForm) -> bool:
    if not form.is_valid():
        return False
    name, until = form.cleaned_data["username"], form.cleaned_data["until"]
    try:
        services.admit_helper(name, form.cleaned_data["password"], until)
    except services.NotPossible as refusal:
        form.add_error("username", str(refusal))
        return False
    messages.success(request, f"{name} can sign in until {until:%Y-%m-%d}, that day included.")
    return True


def welcome(request: HttpRequest, user: User, destination: str) -> HttpResponse:
    """Open the session, note the device, and give the browser the mark of one that has been let in before."""
    auth.login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    devices.remember(request)
    term = getattr(user, "helper_term", None)
    if term and not is_keeper(user):
        request.session.set_expiry(timezone.make_aware(datetime.combine(term.until, clock.max)))
    response = redirect(destination)
    mark = f"{user.get_username().casefold()}|{secrets.token_urlsafe(9)}"
    response.set_signed_cookie(
        settings.BROWSER_COOKIE_NAME, mark, max_age=A_YEAR, httponly=True, samesite="Lax", secure=request.is_secure()
    )
    return response


def _keys(request: HttpRequest) -> dict[str, int]:
    """A browser that this account has signed in from before counts for itself."""
    name = request.POST.get("username", "")
    mark = request.get_signed_cookie(settings.BROWSER_COOKIE_NAME, "", max_age=A_YEAR) or ""
    is_known = bool(name) and mark.rpartition("|")[0] == name.casefold()
    return throttle.keys_for(name, _address(request), mark if is_known else "")


def _too_soon(request: HttpRequest, template: str, form: SignInForm | SetupForm, wait: float) -> HttpResponse:
    seconds = math.ceil(wait)
    context = {"form": form, "next": _destination(request), "wait": seconds}
    response = render(request, template, context, status=429)
    response.headers["Retry-After"] = str(seconds)
    return response


def _destination(request: HttpRequest) -> str:
    """Where to go after signing in; only ever an address of our own."""
    wanted = request.POST.get("next") or request.GET.get("next") or "/"
    is_ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if is_ours else "/"


def _address(request: HttpRequest) -> str:
    return str(request.META.get("REMOTE_ADDR", ""))


def _account(request: HttpRequest) -> User:
    """Whoever is signed in; the middleware has turned everybody else away."""
    assert isinstance(request.user, User)
    return request.user


def _people_seen_by(request: HttpRequest) -> dict[str, User]:
    seen = User.objects.all() if is_keeper(request.user) else [_account(request)]
    return {str(user.pk): user for user in seen}
