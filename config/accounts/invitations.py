"""Invitations of helpers: made by the keeper, followed once, withdrawn at will."""

from __future__ import annotations

import hashlib
import io
import secrets
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac

from config.accounts import services
from config.accounts.models import Invitation

OPENS_FOR = timedelta(days=7)
SALT = "config.accounts.invitations"


class Gone(Exception):
    """Used, withdrawn, too old or never made: which of these, nobody is told."""


def make(name: str, until: date, form_key: str) -> str:
    """Keep an invitation and return its word, which is shown this once.

    The word follows from the form's one-time key, so that a form which a browser sends twice makes one invitation.
    Raises Gone when that invitation was used or withdrawn meanwhile.
    """
    word = _word(form_key or secrets.token_hex())
    values = {"name": name, "until": until, "opens_until": timezone.now() + OPENS_FOR}
    found, _ = Invitation.objects.get_or_create(hashed=_hash(word), defaults=values)
    if found.closed_at:
        raise Gone
    return word


def _word(form_key: str) -> str:
    """40 hexadecimal digits, 160 bits, that only this house can work out."""
    return salted_hmac(SALT, form_key).hexdigest()


def _hash(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()


def find(word: str) -> Invitation:
    """The open invitation of this word, or Gone."""
    found = Invitation.objects.open(timezone.now()).filter(hashed=_hash(word)).first()
    if found is None:
        raise Gone
    return found


def is_taken(username: str, invitation: Invitation) -> bool:
    """Whether this name is somebody else's. The name that the keeper wrote down may be a former helper's own."""
    same = User.objects.filter(username__iexact=username)
    if invitation.name and username == invitation.name:
        same = same.filter(is_superuser=True) | same.exclude(username=username)
    return same.exists()


def accept(word: str, username: str, password: str) -> User:
    """Use the invitation up and let the helper in, both or neither. Raises Gone when somebody was quicker."""
    with transaction.atomic():
        found = find(word)
        if is_taken(username, found):
            raise services.NotPossible("Somebody has this name here already. Choose another.")
        found.closed_at = timezone.now()
        found.save(update_fields=["closed_at"])
        return services.admit_helper(username, password, found.until)


def withdraw(pk: int) -> bool:
    """Close an invitation; says whether it was open."""
    return bool(Invitation.objects.filter(pk=pk, closed_at=None).update(closed_at=timezone.now()))


def drawing(url: str) -> str:
    """The link as a code for a phone's camera: black modules on a ground that the page gives it."""
    import segno  # only here: the server at rest holds nothing it does not need

    picture = io.BytesIO()
    segno.make(url, error="m", micro=False).save(
        picture, kind="svg", xmldecl=False, svgns=False, omitsize=True, light=None, dark="#000", border=4
    )
    return picture.getvalue().decode()
