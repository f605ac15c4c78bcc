"""One view for every log form: fetch the animal, check, write, go back to its page. The same for corrections."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, models, transaction
from django.db.models import ProtectedError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from collection import receipts
from collection.forms.base import Ahead
from collection.htmx import send_to, wants_fragment
from collection.models import Specimen
from collection.rights import helper_may
from collection.services import Refused

View = Callable[..., HttpResponse]


def sent(request: HttpRequest) -> QueryDict | None:
    """What was sent, be it nothing at all; None for a form that is only shown."""
    return request.POST if request.method == "POST" else None


def written(form: Any) -> bool:
    """Check and write a form; a refusal becomes its error, and nothing is half written."""
    if not form.is_valid():
        return False
    try:
        with transaction.atomic():
            form.write()
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
    except IntegrityError:
        form.add_error(None, "This contradicts another record of the same animal or place. Nothing was saved.")
    return not form.errors


def look_ahead(request: HttpRequest, form: Any) -> Ahead | None:
    """What the form would do, when that was asked for and what was typed makes sense."""
    if request.method != "POST" or "ahead" not in request.POST or not form.is_valid():
        return None
    found: Ahead = form.ahead()
    return found


def log_view(form_class: Callable[..., Any]) -> View:
    """The view that logs something new of one animal."""

    @require_http_methods(["GET", "POST"])
    @vary_on_headers("HX-Request")
    @receipts.once
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
        posted = request.method == "POST"
        form = form_class(request.POST if posted else None, specimen=specimen)
        ahead = look_ahead(request, form)
        if posted and ahead is None and written(form):
            return send_to(request, form.back() if hasattr(form, "back") else specimen.get_absolute_url())
        template = "collection/log_form.html" + ("#log-form" if wants_fragment(request) else "")
        context = {"specimen": specimen, "form": form, "action": request.path, "ahead": ahead}
        return render(request, template, context, status=422 if posted and ahead is None else 200)

    return view


def correct_view(form_class: Any) -> View:
    """The view that corrects or takes away something logged, and shows what it was before."""

    @require_http_methods(["GET", "POST"])
    @receipts.once
    def view(request: HttpRequest, pk: int, event: int) -> HttpResponse:
        specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
        found = form_class.Meta.model._default_manager.filter(**{form_class.animal_field: pk}).distinct()
        record = get_object_or_404(found, pk=event)
        posted = request.method == "POST"
        form = form_class(request.POST if posted else None, specimen=specimen, instance=record)
        ahead = look_ahead(request, form)
        writes = posted and ahead is None
        done = removed(form, record) if writes and "remove" in request.POST else writes and written(form)
        if done:
            return send_to(request, form.back())
        record.refresh_from_db()
        context = {"specimen": specimen, "form": form, "action": request.path, "versions": versions(record)}
        context["ahead"] = ahead
        return render(request, "collection/correct_form.html", context, status=422 if writes else 200)

    return view


def removed(form: Any, record: models.Model) -> bool:
    """Take the record away; refused when others were built on it. What was typed over it meanwhile is let go."""
    form.is_valid()
    record.refresh_from_db()
    try:
        with transaction.atomic():
            form.remove()
    except Refused as refusal:
        form.add_error(None, str(refusal))
    except ProtectedError:
        form.add_error(None, "Other records were built on this one; take those away first.")
    else:
        return True
    return False


@dataclass(frozen=True)
class Version:
    """One state in the history of a record: when, by whom, and what changed."""

    at: datetime
    who: str
    what: str
    changes: list[str]


def versions(record: Any) -> list[Version]:
    """The history of a record, newest first."""
    rows = list(record.history.select_related("history_user").order_by("-history_id"))
    older = [*rows[1:], None]
    words = {"+": "written", "~": "changed", "-": "taken away"}
    return [
        Version(row.history_date, str(row.history_user or ""), words[row.history_type], _changes(row, before))
        for row, before in zip(rows, older, strict=True)
    ]


def _changes(row: Any, before: Any) -> list[str]:
    if before is None or row.history_type != "~":
        return []
    named = row.diff_against(before).changes
    return [f"{change.field.replace('_', ' ')}: {_shown(change.old)} → {_shown(change.new)}" for change in named]


def _shown(value: Any) -> str:
    return "nothing" if value in (None, "") else str(value)


def log_paths(name: str, slug: str, form_class: Any, *, helper: bool = False) -> list[URLPattern]:
    """The two addresses of a log form: something new, and the correction of one entry (the keeper's)."""
    new = log_view(form_class)
    return [
        path(f"animals/<int:pk>/{slug}/", helper_may(new) if helper else new, name=f"{name}-new"),
        path(f"animals/<int:pk>/{slug}/<int:event>/", correct_view(form_class), name=f"{name}-edit"),
    ]
