"""The two accounts of the invented collection. Their passwords are drawn once and kept beside the invented data."""

from __future__ import annotations

import json
import os
import secrets
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User

from config.accounts import services

KEEPER, HELPER = "keeper", "helper"
HELPS_FOR = timedelta(days=365)
FILE = "demo-sign-in.json"
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is mistaken for another


@dataclass(frozen=True)
class SignIn:
    """How to sign in to the invented collection."""

    keeper: str
    helper: str

    @property
    def sentence(self) -> str:
        """What to print."""
        return (
            f"Sign in as {KEEPER} with {self.keeper}\n"
            f"(or as {HELPER} with {self.helper}, to see what somebody who only feeds sees)"
        )


def ensure(today: date) -> SignIn:
    """Make both accounts, or find them again: the passwords stay the same from one start to the next."""
    path = Path(settings.DATA_DIR) / FILE
    known = User.objects.filter(username=KEEPER).exists()
    if known and path.exists():
        return SignIn(**json.loads(path.read_text(encoding="utf-8")))
    signs = SignIn(_password(), _password())
    if known:
        _change(User.objects.get(username=KEEPER), signs.keeper)
    else:
        services.create_first_keeper(KEEPER, signs.keeper)
    services.admit_helper(HELPER, signs.helper, today + HELPS_FOR)
    _keep(path, signs)
    return signs


def _password() -> str:
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(3))


def _change(user: User, password: str) -> None:
    user.set_password(password)
    user.save(update_fields=["password"])


def _keep(path: Path, signs: SignIn) -> None:
    """For the owner of the folder alone; it opens nothing but invented animals."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(vars(signs), file)
