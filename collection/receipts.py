"""Every form counts once, and can be undone.

Browsers send a POST again by themselves when a connection drops, so each write form carries a one-time key. The view
runs inside one transaction with the receipt of that key; the second arrival is answered from the receipt. While the
view runs, what it writes is noted from the history, so that the whole entry can be taken back later.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, TypeVar, cast

from django.apps import apps
from django.contrib import messages
from django.db import IntegrityError, models, transaction
from django.db.models import ProtectedError
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from simple_history.signals import post_create_historical_record

from collection import dues
from collection.htmx import send_to
from collection.models import Receipt

View = TypeVar("View", bound=Callable[..., HttpResponse])
TAKEN_BACK = "u"  # marks, among the writes of an entry, those of its undo


@dataclass
class Entry:
    """What one form wrote, gathered while its view runs."""

    receipt: Receipt | None = None
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
def writing(receipt: Receipt | None = None) -> Iterator[Entry]:
    """Gather what is written inside."""
    entry = Entry(receipt)
    token = _current.set(entry)
    try:
        yield entry
    finally:
        _current.reset(token)


def current() -> Receipt:
    """The receipt of the form that is being handled, for an answer that offers to take it back."""
    entry = _current.get()
    if entry is None or entry.receipt is None:
        raise LookupError("No form is being handled.")
    return entry.receipt


Again = Callable[..., HttpResponse]


def send_on(request: HttpRequest, receipt: Receipt, *args: Any, **kwargs: Any) -> HttpResponse:
    """The usual answer to a form that arrives again: on to where its first arrival led."""
    return send_to(request, receipt.location or "/")


def once_answering(again: Again) -> Callable[[View], View]:
    """A POST view whose form is accepted once, in one transaction, and leaves a receipt.

    `again` answers a form whose key is on file; it gets the request, the receipt and what the view gets.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def wrapped(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if request.method != "POST":
                return view(request, *args, **kwargs)
            key = request.POST.get("once", "")[:40] or new_key()
            with transaction.atomic():
                receipt, first = Receipt.objects.get_or_create(key=key, defaults=_blank(request))
                if not first:
                    return again(request, receipt, *args, **kwargs)
                with writing(receipt) as entry:
                    response = view(request, *args, **kwargs)
                if response.status_code < 400 and entry.writes:
                    _keep(request, receipt, entry, response)
                else:
                    receipt.delete()
            return response

        return cast(View, wrapped)

    return decorate


once = once_answering(send_on)


def _blank(request: HttpRequest) -> dict[str, Any]:
    """What a receipt holds before its view has run."""
    return {"user": request.user if request.user.is_authenticated else None, "at": timezone.now()}


def _keep(request: HttpRequest, receipt: Receipt, entry: Entry, response: HttpResponse) -> None:
    """Fill in the receipt of an accepted form; a page that comes next offers to take it back."""
    onward = str(response.get("Location", "") or response.get("HX-Redirect", ""))
    _fill_in(receipt, entry, onward or request.path)
    if onward:
        messages.success(request, receipt.label, extra_tags=str(receipt.pk))


@contextmanager
def leaving(key: str, user: Any, location: str) -> Iterator[None]:
    """A receipt for what is written inside without a form, such as by a tap; `key` is the tap's own."""
    receipt = Receipt(key=key, user=user if user.is_authenticated else None, at=timezone.now())
    receipt.save()
    with writing(receipt) as entry:
        yield
    _fill_in(receipt, entry, location)


def _fill_in(receipt: Receipt, entry: Entry, location: str) -> None:
    receipt.label = entry.label[:200]
    receipt.location = location[:500]
    receipt.entries = entry.writes
    receipt.specimens = sorted(entry.specimens)
    receipt.save()


Mend = Callable[[Sequence[int]], Iterable[int]]
mending: dict[str, Mend] = {}


def mends(*labels: str) -> Callable[[Mend], Mend]:
    """Register what follows when records of these models were taken back.

    It gets their ids, mends what hangs on them, and answers with the animals to work out anew.
    """

    def keep(mend: Mend) -> Mend:
        mending.update(dict.fromkeys(labels, mend))
        return mend

    return keep


def undo(receipt: Receipt) -> None:
    """Take back all that one form wrote, newest first; refuses with a sentence when something was built on it."""
    if receipt.undone_at is not None:
        raise CannotUndo("This entry was taken back already.")
    try:
        with transaction.atomic():
            _refuse_if_changed_since(receipt)
            with writing() as entry:
                for write in reversed(receipt.entries):
                    _take_back(write)
                touched = {*receipt.specimens, *_mend(receipt.entries)}
            receipt.undone_at = timezone.now()
            receipt.entries = [*receipt.entries, *(write | {"op": TAKEN_BACK} for write in entry.writes)]
            receipt.save(update_fields=["undone_at", "entries"])
            dues.refresh(touched)
    except IntegrityError:
        raise CannotUndo("What was entered since stands in its way; correct it on its own page instead.") from None


def pages_made(receipt: Receipt) -> set[str]:
    """The pages of what an entry made, which are gone when it is taken back."""
    made = [write for write in receipt.entries if write["op"] == "+"]
    found = (apps.get_model(write["model"])._default_manager.filter(pk=write["pk"]).first() for write in made)
    return {record.get_absolute_url() for record in found if hasattr(record, "get_absolute_url")}


def _mend(writes: list[dict[str, Any]]) -> Iterator[int]:
    for label in dict.fromkeys(write["model"] for write in writes):
        if label in mending:
            yield from mending[label](sorted({write["pk"] for write in writes if write["model"] == label}))


def _history(write: dict[str, Any]) -> models.QuerySet[Any]:
    """The history rows of the record that a write touched."""
    model: Any = apps.get_model(write["model"])
    rows: models.QuerySet[Any] = model.history.filter(**{model._meta.pk.name: write["pk"]})
    return rows


def _refuse_if_changed_since(receipt: Receipt) -> None:
    """The last thing that happened to every record must be this entry's own write; what was undone since is as not."""
    undone = Receipt.objects.filter(pk__gt=receipt.pk, undone_at__isnull=False).values_list("entries", flat=True)
    as_not = {(write["model"], write["history"]) for entries in undone for write in entries}
    last = {(write["model"], write["pk"]): write for write in receipt.entries}
    for write in last.values():
        since = _history(write).filter(history_id__gt=write["history"]).values_list("history_id", flat=True)
        if any((write["model"], history) not in as_not for history in since):
            raise CannotUndo("It was changed since; correct it on its own page instead.")


def _take_back(write: dict[str, Any]) -> None:
    """Undo one write by its history row."""
    model: Any = apps.get_model(write["model"])
    row = _history(write).get(history_id=write["history"])
    if write["op"] == "+":
        _delete(model.objects.get(pk=write["pk"]))
    elif write["op"] == "-":
        row.instance.save(force_insert=True)
    else:  # by number, not by time: the clock of a small machine may have been set back
        before = _history(write).filter(history_id__lt=write["history"]).order_by("-history_id").first()
        if before is None:
            raise CannotUndo("What it was before is not on record; correct it on its own page instead.")
        before.instance.save()


def _delete(record: Any) -> None:
    """Delete a record that nothing rests on; a link that would silently be cut counts as well."""
    built = any(
        link.on_delete is models.SET_NULL
        and hasattr(link.related_model, "history")
        and link.related_model.objects.filter(**{link.field.name: record.pk}).exists()
        for link in record._meta.related_objects
    )
    try:
        if built:
            raise ProtectedError("", set())
        record.delete()
    except ProtectedError:
        raise CannotUndo("Other records were built on it; take those back first.") from None
