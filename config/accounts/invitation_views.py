"""Inviting a helper by a link, and following it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from collection.rights import keeper_only
from config.accounts import invitations, services
from config.accounts.forms import InvitationForm, JoinForm
from config.accounts.views import people_page, welcome
from husbandry.models import LabelAddress


@keeper_only
@require_POST
@never_cache
def invite(request: HttpRequest) -> HttpResponse:
    """Make a link and show it, this once."""
    form = InvitationForm(request.POST, auto_id="invite_%s")
    if not form.is_valid():
        return people_page(request, inviting=form, status=422)
    try:
        word = invitations.make(form.cleaned_data["name"], form.cleaned_data["until"], request.POST.get("once", ""))
    except invitations.Gone:
        messages.info(request, "That link was used or withdrawn. Make a new one.")
        return redirect("accounts:people")
    return people_page(request, made=_shown(request, word, form.cleaned_data))


def _shown(request: HttpRequest, word: str, said: dict[str, Any]) -> dict[str, Any]:
    url = house_address(request) + reverse("accounts:join", args=[word])
    ends = timezone.localdate(timezone.now() + invitations.OPENS_FOR)
    picture = mark_safe(invitations.drawing(url))  # drawn by us: the address is in it as squares
    return {"url": url, "picture": picture, "ends": ends, "name": said["name"], "until": said["until"]}


def house_address(request: HttpRequest) -> str:
    """Where helpers reach the house: the address that labels carry, else the one that the keeper came by.

    A link is a password for as long as it is open, so a house under TLS never sends it over plain http.
    """
    labels = LabelAddress.of_the_house().lower()
    if labels and (labels.startswith("https:") or not request.is_secure()):
        return labels
    return f"{request.scheme}://{request.get_host()}"


@keeper_only
@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a link before anybody followed it."""
    if invitations.withdraw(pk):
        messages.success(request, "The link is withdrawn and opens nothing any more.")
    else:
        messages.info(request, "That link was used or withdrawn already.")
    return redirect("accounts:people")


@login_not_required
@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "POST"])
def join(request: HttpRequest, word: str) -> HttpResponse:
    """Follow a link: choose a name and a password, and be signed in on this device."""
    try:
        return _join(request, word)
    except invitations.Gone:
        return render(request, "config/join_gone.html", status=404)


def _join(request: HttpRequest, word: str) -> HttpResponse:
    invitation = invitations.find(word)
    form = JoinForm(request.POST or None, invitation=invitation)
    if request.method == "POST" and form.is_valid():
        try:
            user = invitations.accept(word, form.cleaned_data["username"], form.cleaned_data["password1"])
        except services.NotPossible as refusal:
            form.add_error("username", str(refusal))
        else:
            return welcome(request, user, "/")
    context = {"form": form, "invitation": invitation, "word": word}
    return render(request, "config/join.html", context, status=422 if request.method == "POST" else 200)
