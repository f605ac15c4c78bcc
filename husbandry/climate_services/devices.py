"""Tokens of devices: drawn once, shown once, kept as a hash, revoked for good."""

from __future__ import annotations

import hashlib
import secrets

from django.db import transaction
from django.utils import timezone

from collection import receipts
from collection.services import Refused
from husbandry.models import Device


def admit(name: str, *, by_query: bool = False) -> tuple[Device, str]:
    """A new device and its token, which nobody can show again."""
    if Device.objects.filter(name__iexact=name).exists():
        raise Refused("There is a device of this name already. Revoked ones keep their name.", "name")
    token = secrets.token_urlsafe(24)
    device = Device(name=name, token_hash=hashed(token), hint=token[:4], by_query=by_query)
    with transaction.atomic():
        device.save()
        receipts.note(f"Token for {name}")
    return device, token


def hashed(token: str) -> str:
    """What is kept of a token. It is long and random, so a plain hash gives nothing away."""
    return hashlib.sha256(token.encode()).hexdigest()


def known_by(token: str, *, in_query: bool = False) -> Device | None:
    """The device that holds this token, unless it was revoked, or may not send its token in an address."""
    if not token:
        return None
    found = Device.objects.filter(token_hash=hashed(token), revoked_at__isnull=True).first()
    return None if found is not None and in_query and not found.by_query else found


def revoke(device: Device) -> None:
    """From now on nothing of this device is taken."""
    if device.revoked_at is not None:
        raise Refused(f"{device.name} was revoked already.")
    device.revoked_at = timezone.now()
    device.save(update_fields=["revoked_at"])
    receipts.note(f"Revoked: {device.name}")
