"""Changes to accounts, each as one transaction."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from config.accounts import devices, setup_code
from config.accounts.models import HelperTerm


class NotPossible(Exception):
    """Said to the keeper, word for word."""


def create_first_keeper(username: str, password: str) -> User:
    """Make the first account, the keeper's; refused when somebody was quicker."""
    with transaction.atomic():
        if not setup_code.is_needed():
            raise NotPossible("The first account has been made already. Sign in with it.")
        user = User.objects.create_superuser(username, password=password)
    setup_code.withdraw()
    return user


def admit_helper(username: str, password: str, until: date) -> User:
    """Add a helper, or give a helper of that name a new password and a new last day."""
    with transaction.atomic():
        user, _ = User.objects.get_or_create(username=username)
        if user.is_superuser:
            raise NotPossible(f"{username} is a keeper, and needs no admission.")
        user.is_active = True
        user.set_password(password)
        user.save(update_fields=["is_active", "password"])
        HelperTerm.objects.update_or_create(user=user, defaults={"until": until})
        devices.sign_out({str(user.pk)})
    return user


def end_helper(user: User) -> None:
    """Shut a helper out at once. What they logged stays under their name."""
    if user.is_superuser:
        raise NotPossible(f"{user.get_username()} is a keeper, and cannot be shut out here.")
    with transaction.atomic():
        user.is_active = False
        user.save(update_fields=["is_active"])
        devices.sign_out({str(user.pk)})
