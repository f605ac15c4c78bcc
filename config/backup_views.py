"""The backups page: what is on the shelf, make one now, take one away."""

from __future__ import annotations

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from collection.rights import keeper_only
from config import backup


@keeper_only
@require_GET
def backup_list(request: HttpRequest) -> HttpResponse:
    """The shelf, newest first."""
    return render(request, "config/backups.html", {"backups": backup.stored()})


@keeper_only
@require_POST
def backup_make(request: HttpRequest) -> HttpResponse:
    """Make one now."""
    try:
        made = backup.make()
    except backup.NotPossible as problem:
        messages.error(request, str(problem))
    else:
        messages.success(request, f"Backup made: {made.name}")
    return redirect("backups:list")


@keeper_only
@require_GET
def backup_download(request: HttpRequest, name: str) -> FileResponse:
    """One file of the shelf, and nothing else of the disk."""
    found = next((stored for stored in backup.stored() if stored.name == name), None)
    if found is None:
        raise Http404
    file = open(found.path, "rb")  # noqa: SIM115 -- the response closes it
    response = FileResponse(file, as_attachment=True, filename=name)
    response.headers["Cache-Control"] = "no-store"
    return response
