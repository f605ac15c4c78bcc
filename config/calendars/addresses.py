"""Subscription addresses: made, replaced, revoked; and whose calendar a word opens."""

from __future__ import annotations

import hashlib
import secrets
from datetime import date, datetime

from django.contrib.auth.models import User
from django.utils.crypto import salted_hmac

from config.calendars.models import CalendarAddress

SALT = "config.calendars"


def make(user: User, form_key: str, now: datetime) -> str:
    """Give this person an address, and end the one before; returns its word, shown this once.

    The word follows from the form's one-time key: a form that a browser sends twice makes one address.
    """
    word = salted_hmac(SALT, f"{user.pk}/{form_key or secrets.token_hex()}").hexdigest()
    values = {"hashed": _hash(word), "since": now, "read_on": None}
    CalendarAddress.objects.update_or_create(user=user, defaults=values)
    return word


def _hash(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()


def revoke(user: User) -> bool:
    """End this person's address; says whether there was one."""
    return bool(CalendarAddress.objects.filter(user=user).delete()[0])


def reader(word: str, today: date) -> CalendarAddress | None:
    """The address of this word, of somebody who may still sign in; notes the day it was read."""
    found = CalendarAddress.objects.select_related("user__helper_term").filter(hashed=_hash(word)).first()
    if found is None or not found.user.is_active:
        return None
    term = getattr(found.user, "helper_term", None)
    if not found.user.is_superuser and (term is None or term.until < today):
        return None
    if found.read_on != today:
        CalendarAddress.objects.filter(pk=found.pk).update(read_on=today)
    return found
