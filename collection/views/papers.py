"""Papers: people, arrivals, and the doors to taxa, imports and backups."""

from __future__ import annotations

from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts
from collection.forms.papers import ArrivalForm, ContactForm
from collection.htmx import send_to
from collection.models import Arrival, Contact
from collection.views.log import sent, written

PER_PAGE = 50


@require_safe
def papers(request: HttpRequest) -> HttpResponse:
    """What there is in paper form, and the latest arrivals."""
    arrivals = Arrival.objects.select_related("contact").prefetch_related("specimens")[:10]
    return render(request, "collection/papers.html", {"arrivals": arrivals, "contacts": Contact.objects.count()})


@require_safe
def contact_list(request: HttpRequest) -> HttpResponse:
    """People, by name."""
    page = Paginator(Contact.objects.all(), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "collection/contact_list.html", {"page": page})


@require_safe
def arrival_list(request: HttpRequest) -> HttpResponse:
    """Boxes, newest first."""
    arrivals = Arrival.objects.select_related("contact").prefetch_related("specimens")
    page = Paginator(arrivals, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "collection/arrival_list.html", {"page": page})


def _edit(request: HttpRequest, form: forms.BaseForm, done: str) -> HttpResponse:
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, reverse(done))
    return render(request, "collection/record_form.html", {"form": form}, status=422 if posted else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def contact_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new contact, or a changed one."""
    contact = get_object_or_404(Contact, pk=pk) if pk else Contact()
    return _edit(request, ContactForm(sent(request), instance=contact), "collection:contact-list")


@require_http_methods(["GET", "POST"])
@receipts.once
def arrival_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new arrival, or a changed one."""
    arrival = get_object_or_404(Arrival, pk=pk) if pk else Arrival()
    return _edit(request, ArrivalForm(sent(request), instance=arrival), "collection:arrival-list")
