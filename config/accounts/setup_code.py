"""The one-time code that the first account needs. It is printed by the server's terminal; only its hash is on disk."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import os
import secrets
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.http import HttpRequest

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford's: nothing that is misread
LOOKALIKES = str.maketrans("OIL", "011")
FORWARDING_HEADERS = ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED", "HTTP_X_REAL_IP")


def is_needed() -> bool:
    """Set-up is open for as long as nobody has an account."""
    return not User.objects.exists()


def _file() -> Path:
    return Path(settings.DATA_DIR) / "setup-code"


def _hash(code: str) -> str:
    letters = "".join(letter for letter in code.upper().translate(LOOKALIKES) if letter in LETTERS)
    return hashlib.sha256(letters.encode()).hexdigest()


def issue() -> str:
    """Draw a new code, forget the last one, and return it for the terminal: 8 letters, 40 bits."""
    letters = "".join(secrets.choice(LETTERS) for _ in range(8))
    _file().unlink(missing_ok=True)
    handle = os.open(_file(), os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(_hash(letters))
    return f"{letters[:4]}-{letters[4:]}"


def fits(code: str) -> bool:
    """Whether this is the code in the terminal; small letters, spaces and O for 0 are forgiven."""
    try:
        expected = _file().read_text(encoding="ascii")
    except FileNotFoundError:
        return False
    return hmac.compare_digest(expected, _hash(code))


def withdraw() -> None:
    """The first account is there; the code has done its work."""
    _file().unlink(missing_ok=True)


def is_at_the_machine(request: HttpRequest) -> bool:
    """Whether the browser runs on the server itself, so that nobody else can be asking."""
    if any(header in request.META for header in FORWARDING_HEADERS):
        return False
    try:
        return ipaddress.ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False
