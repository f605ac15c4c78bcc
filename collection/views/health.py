"""Health: an animal's page of it, issues with their course, what somebody saw, quarantine."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection import health, health_services, panels, receipts
from collection.forms.health import CheckForm, CloseForm, EndQuarantineForm, EntryForm, HealthForm, SetAsideForm
from collection.health import HealthKind
from collection.health_panels import concerns_of
from collection.htmx import send_to
from collection.models import Contact, HealthIssue, Note, Quarantine, Specimen
from collection.rights import helper_may
from collection.services import Refused
from collection.stages import Group
from collection.views.log import sent, written

SHOWN = 60


def issue_or_404(pk: int) -> HealthIssue:
    """An issue with its animal."""
    found = HealthIssue.objects.select_related("specimen__taxon", "specimen__standing", "vet")
    return get_object_or_404(found, pk=pk)


def _form(request: HttpRequest, form: Any, specimen: Specimen, done: str, **more: Any) -> HttpResponse:
    """Show a form, or write it and go on to where it leads."""
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, done)
    context = {"form": form, "specimen": specimen, "action": request.get_full_path(), "back": done, **more}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)


def _own_page(specimen: Specimen) -> str:
    return reverse("collection:specimen-health", args=[specimen.pk])


@helper_may
@require_safe
def specimen_health(request: HttpRequest, pk: int) -> HttpResponse:
    """All about one animal's health: what waits for an answer, what is open, what was, quarantine."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    issues = list(specimen.health_issues.prefetch_related("entries")[:SHOWN])
    context = {
        "specimen": specimen,
        "concerns": concerns_of(specimen),
        "open": [(issue, issue.next_look(list(issue.entries.all()))) for issue in issues if issue.closed_on is None],
        "closed": [issue for issue in issues if issue.closed_on is not None],
        "quarantines": specimen.quarantines.prefetch_related("checks")[:SHOWN],
        "today": timezone.localdate(),
    }
    return render(request, "collection/specimen_health.html", context)


@helper_may
@require_safe
def health_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One issue: cautions, whom to ask, its course, how it ended."""
    issue = issue_or_404(pk)
    entries = list(issue.entries.all())
    context = {
        "issue": issue,
        "specimen": issue.specimen,
        "entries": entries,
        "cautions": health.cautions_for(HealthKind(issue.kind), Group(issue.specimen.taxon.group)),
        "vets": Contact.objects.filter(vet=True),
        "next": issue.next_look(entries) if issue.closed_on is None else None,
        "notes": issue.notes.all(),
        "onward": [(label, address(issue)) for label, address in panels.from_issue.values()],
        "today": timezone.localdate(),
    }
    return render(request, "collection/health_detail.html", context)


@helper_may
@require_safe
def health_look(request: HttpRequest, pk: int) -> HttpResponse:
    """From an animal to the look that is due first."""
    issues = HealthIssue.objects.open().filter(specimen=pk).prefetch_related("entries")
    due = sorted((issue.next_look(list(issue.entries.all())), issue.pk) for issue in issues)
    if due:
        return redirect("collection:health-entry-new", due[0][1])
    return redirect(_own_page(get_object_or_404(Specimen, pk=pk)))


@helper_may
@require_http_methods(["GET", "POST"])
@receipts.once
def entry_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One look at an issue."""
    issue = issue_or_404(pk)
    form = EntryForm(sent(request), specimen=issue.specimen, issue=issue)
    return _form(request, form, issue.specimen, issue.get_absolute_url())


@require_http_methods(["GET", "POST"])
@receipts.once
def health_close(request: HttpRequest, pk: int) -> HttpResponse:
    """How an issue ended."""
    issue = issue_or_404(pk)
    form = CloseForm(sent(request), specimen=issue.specimen, instance=issue)
    return _form(request, form, issue.specimen, issue.get_absolute_url())


@require_POST
@receipts.once
def health_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """An issue that was closed goes on."""
    issue = issue_or_404(pk)
    try:
        health_services.reopen_issue(issue)
    except Refused as refusal:
        context = {"specimen": issue.specimen, "sentence": str(refusal)}
        return render(request, "collection/refused.html", context, status=422)
    return send_to(request, issue.get_absolute_url())


def _open_note(pk: int) -> Note:
    found = Note.objects.select_related("specimen__taxon", "specimen__standing")
    return get_object_or_404(found, pk=pk, wrong=True, issue__isnull=True, set_aside="")


@require_http_methods(["GET", "POST"])
@receipts.once
def concern_issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Turn what somebody saw into an issue."""
    note = _open_note(pk)
    form = HealthForm(sent(request), specimen=note.specimen, told=note)
    if request.method == "POST" and written(form):
        return send_to(request, form.instance.get_absolute_url())
    context = {"form": form, "specimen": note.specimen, "action": request.path, "back": _own_page(note.specimen)}
    return render(request, "collection/log_form.html", context, status=422 if request.method == "POST" else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def concern_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer what somebody saw: nothing to follow."""
    note = _open_note(pk)
    form = SetAsideForm(sent(request), specimen=note.specimen, instance=note)
    return _form(request, form, note.specimen, _own_page(note.specimen))


def _open_quarantine(pk: int) -> Quarantine:
    return get_object_or_404(
        Quarantine.objects.open().select_related("specimen__taxon", "specimen__standing"), specimen=pk
    )


@helper_may
@require_http_methods(["GET", "POST"])
@receipts.once
def quarantine(request: HttpRequest, pk: int) -> HttpResponse:
    """One look at an animal in quarantine."""
    kept = _open_quarantine(pk)
    form = CheckForm(sent(request), specimen=kept.specimen, quarantine=kept)
    return _form(request, form, kept.specimen, _own_page(kept.specimen), kept=kept)


@require_http_methods(["GET", "POST"])
@receipts.once
def quarantine_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a quarantine."""
    kept = _open_quarantine(pk)
    form = EndQuarantineForm(sent(request), specimen=kept.specimen, instance=kept)
    return _form(request, form, kept.specimen, _own_page(kept.specimen))
