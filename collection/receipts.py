"""Every form counts once, and can be undone.

Browsers send a POST again by themselves when a connection drops, so each write form carries a one-time key. The view
runs inside one transaction with the receipt of that key; the second arrival is answered from the receipt. While the
view runs, what it writes is noted from the history, so that the whole entry can be taken back later.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, TypeVar, cast

from django.apps import apps
from django.contrib import messages
from django.db import models, transaction
from django.db.models import ProtectedError
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils import timezone
from simple_history.signals import post_create_historical_record

from collection import dues
from collection.models import Receipt

View = TypeVar("View", bound=Callable[..., HttpResponse])


@dataclass
class Entry:
    """What one form wrote, gathered while its view runs."""

    receipt: int | None = None
    label: str = ""
    specimens: set[int] = field(default_factory=set)
    writes: list[dict[str, Any]] = field(default_factory=list)


_current: ContextVar[Entry | None] = ContextVar("entry", default=None)


class CannotUndo(Exception):
    """Says, in a sentence, why an entry cannot be taken back."""


def new_key() -> str:
    """A fresh one-time key for a form."""
    return uuid.uuid4().hex


def note(label: str, specimens: Iterable[int] = ()) -> None:
    """Name the entry that is being written, and the animals it touches."""
    entry = _current.get()
    if entry is not None:
        entry.label = entry.label or label
        entry.specimens.update(specimens)


@receiver(post_create_historical_record)
def _gather(sender: Any, instance: models.Model, history_instance: Any, **kwargs: Any) -> None:
    """Note each history row that appears while an entry is being written."""
    entry = _current.get()
    if entry is not None:
        entry.writes.append(
            {
                "model": instance._meta.label_lower,
                "pk": instance.pk,
                "op": history_instance.history_type,
                "history": history_instance.history_id,
            }
        )


@contextmanager
def writing(receipt: int | None = None) -> Iterator[Entry]:
    """Gather what is written inside."""
    entry = Entry(receipt)
    token = _current.set(entry)
    try:
        yield entry
    finally:
        _current.reset(token)


def current() -> int | None:
    """The receipt of the form that is being handled, for an answer that offers to take it back."""
    entry = _current.get()
    return entry.receipt if entry else None


def once(view: View) -> View:
    """A POST view whose form is accepted once, in one transaction, and leaves a receipt."""

    @wraps(view)
    def wrapped(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        key = request.POST.get("once", "")[:40]
        if request.method != "POST" or not key:
            return view(request, *args, **kwargs)
        with transaction.atomic():
            receipt, first = Receipt.objects.get_or_create(key=key, defaults=_blank(request))
            if not first:
                return HttpResponseRedirect(receipt.location or "/")
            with writing(receipt.pk) as entry:
                response = view(request, *args, **kwargs)
            if response.status_code < 400 and entry.writes:
                _keep(request, receipt, entry, response)
            else:
                receipt.delete()
        return response

    return cast(View, wrapped)


def _blank(request: HttpRequest) -> dict[str, Any]:
    """What a receipt holds before its view has run."""
    return {"user": request.user if request.user.is_authenticated else None, "at": timezone.now()}


def _keep(request: HttpRequest, receipt: Receipt, entry: Entry, response: HttpResponse) -> None:
    """Fill in the receipt of an accepted form; a page that comes next offers to take it back."""
    onward = str(response.get("Location", "") or response.get("HX-Redirect", ""))
    receipt.label = entry.label[:200]
    receipt.location = (onward or request.path)[:500]
    receipt.entries = entry.writes
    receipt.specimens = sorted(entry.specimens)
    receipt.save()
    if onward:
        messages.success(request, receipt.label, extra_tags=str(receipt.pk))


def undo(receipt: Receipt) -> None:
    """Take back all that one form wrote, newest first; refuses with a sentence when something was built on it."""
    if receipt.undone_at is not None:
        raise CannotUndo("This entry was taken back already.")
    with transaction.atomic():
        _refuse_if_changed_since(receipt.entries)
        for write in reversed(receipt.entries):
            _take_back(write)
        receipt.undone_at = timezone.now()
        receipt.save(update_fields=["undone_at"])
        dues.refresh(receipt.specimens)


def _history(write: dict[str, Any]) -> models.QuerySet[Any]:
    """The history rows of the record that a write touched."""
    model: Any = apps.get_model(write["model"])
    rows: models.QuerySet[Any] = model.history.filter(**{model._meta.pk.name: write["pk"]})
    return rows


def _refuse_if_changed_since(writes: list[dict[str, Any]]) -> None:
    """The last thing that happened to every record must be this entry's own write."""
    last = {(write["model"], write["pk"]): write for write in writes}
    for write in last.values():
        if _history(write).filter(history_id__gt=write["history"]).exists():
            raise CannotUndo("It was changed since; correct it on its own page instead.")


def _take_back(write: dict[str, Any]) -> None:
    """Undo one write by its history row."""
    model: Any = apps.get_model(write["model"])
    row = _history(write).get(history_id=write["history"])
    if write["op"] == "+":
        try:
            model.objects.get(pk=write["pk"]).delete()
        except ProtectedError:
            raise CannotUndo("Other records were built on it; take those back first.") from None
    elif write["op"] == "-":
        row.instance.save(force_insert=True)
    else:
        row.prev_record.instance.save()
