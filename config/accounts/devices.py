"""The devices that are signed in. Each is one session; what the page shows of it is kept in the session itself."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.http import HttpRequest
from django.utils import timezone

KEY = "device"
SYSTEMS = {
    "iPhone": "iPhone",
    "iPad": "iPad",
    "Android": "Android",
    "Windows": "Windows",
    "Mac OS X": "Mac",
    "CrOS": "Chromebook",
    "Linux": "Linux",
}
BROWSERS = {  # the first that matches is meant: most claim to be the others as well
    r"Edg": "Edge",
    r"OPR/": "Opera",
    r"SamsungBrowser": "Samsung browser",
    r"Firefox|FxiOS": "Firefox",
    r"Chrome|CriOS": "Chrome",
    r"Safari": "Safari",
}


@dataclass(frozen=True)
class Device:
    """One signed-in browser."""

    id: str
    user: User
    label: str
    address: str
    since: datetime
    seen: date
    is_this: bool


def describe(user_agent: str) -> str:
    """Name a browser and its system the way a person would.

    >>> describe("Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0")
    'Firefox on Android'
    """
    browser = next((name for pattern, name in BROWSERS.items() if re.search(pattern, user_agent)), "A browser")
    system = next((name for mark, name in SYSTEMS.items() if mark in user_agent), "an unknown system")
    return f"{browser} on {system}"


def remember(request: HttpRequest) -> None:
    """Note in the fresh session what signed in, from where and when."""
    request.session[KEY] = {
        "id": secrets.token_urlsafe(9),
        "label": describe(request.headers.get("User-Agent", "")),
        "address": request.META.get("REMOTE_ADDR", ""),
        "since": timezone.now().isoformat(),
        "seen": timezone.localdate().isoformat(),
    }


def renew(request: HttpRequest) -> None:
    """Once a day, and no oftener, save the session anew: that moves its end, and costs one write."""
    device = request.session.get(KEY)
    today = timezone.localdate().isoformat()
    if device and device["seen"] != today:
        request.session[KEY] = {**device, "seen": today, "address": request.META.get("REMOTE_ADDR", "")}


def signed_in(people: dict[str, User], this: str | None = None) -> list[Device]:
    """The devices of these people (by primary key as text), newest first; `this` is the session that asks."""
    found = []
    for session in Session.objects.filter(expire_date__gt=timezone.now()):
        data = session.get_decoded()
        user, device = people.get(data.get("_auth_user_id", "")), data.get(KEY)
        if user and device:
            found.append(_from_session(user, device, session.session_key == this))
    return sorted(found, key=lambda device: device.since, reverse=True)


def _from_session(user: User, device: dict[str, str], is_this: bool) -> Device:
    return Device(
        id=device["id"],
        user=user,
        label=device["label"],
        address=device["address"],
        since=datetime.fromisoformat(device["since"]),
        seen=date.fromisoformat(device["seen"]),
        is_this=is_this,
    )


def sign_out(user_ids: set[str], device_id: str | None = None, but_not: str | None = None) -> int:
    """End the sessions of these people: one device, or all but the session `but_not`. Returns how many."""
    ended = [
        session.session_key
        for session in Session.objects.all()
        if session.session_key != but_not and _is_meant(session.get_decoded(), user_ids, device_id)
    ]
    Session.objects.filter(session_key__in=ended).delete()
    return len(ended)


def _is_meant(data: dict[str, object], user_ids: set[str], device_id: str | None) -> bool:
    if data.get("_auth_user_id") not in user_ids:
        return False
    device = data.get(KEY)
    return device_id is None or (isinstance(device, dict) and device.get("id") == device_id)
