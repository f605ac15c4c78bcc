"""Who may do what: the keeper everything, a helper only what is marked for helpers.

A view without a mark is the keeper's, so a forgotten decorator shuts a helper out and never lets one in. The marks are
enforced for every address by the rights middleware; the keeper is the account that Django calls superuser.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.http import HttpResponseBase
from django.urls import resolve, reverse

View = TypeVar("View", bound=Callable[..., HttpResponseBase])
MARK = "helper_may"


def helper_may(view: View) -> View:
    """Mark a view as open to helpers. Goes outermost, above the decorators that wrap."""
    setattr(view, MARK, True)
    return view


def keeper_only(view: View) -> View:
    """Mark a view as the keeper's: the default, said aloud."""
    setattr(view, MARK, False)
    return view


def is_for_helpers(view: Callable[..., HttpResponseBase]) -> bool:
    """Whether the view carries the helpers' mark."""
    return bool(getattr(view, MARK, False))


def open_to_helpers(url_name: str, *args: Any) -> bool:
    """Whether an address is one that helpers may go to."""
    return is_for_helpers(resolve(reverse(url_name, args=args)).func)


def is_keeper(user: AbstractBaseUser | AnonymousUser) -> bool:
    """Whether this person runs the collection."""
    return bool(user.is_active and getattr(user, "is_superuser", False))
