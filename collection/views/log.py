"""One view for every log form: fetch the animal, check, write, go back to its page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from collection import receipts
from collection.htmx import send_to, wants_fragment
from collection.models import Specimen
from collection.services import Refused


def written(form: Any) -> bool:
    """Check and write a form; a refusal becomes its error, and nothing is half written."""
    if not form.is_valid():
        return False
    try:
        with transaction.atomic():
            form.write()
    except Refused as refusal:
        form.add_error(None, str(refusal))
    except IntegrityError:
        form.add_error(None, "This contradicts another record of the same animal or place. Nothing was saved.")
    return not form.errors


def log_view(form_class: Callable[..., forms.BaseForm]) -> Callable[..., HttpResponse]:
    """The view of one log form."""

    @require_http_methods(["GET", "POST"])
    @vary_on_headers("HX-Request")
    @receipts.once
    def view(request: HttpRequest, pk: int) -> HttpResponse:
        specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
        posted = request.method == "POST"
        form = form_class(request.POST if posted else None, specimen=specimen)
        if posted and written(form):
            return send_to(request, specimen.get_absolute_url())
        template = "collection/log_form.html" + ("#log-form" if wants_fragment(request) else "")
        context = {"specimen": specimen, "form": form, "action": request.path}
        return render(request, template, context, status=422 if posted else 200)

    return view
