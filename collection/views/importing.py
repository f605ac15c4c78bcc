"""A spreadsheet comes in: file, columns, questions, every row shown, written as shown, taken back as a whole."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.contrib.auth.models import User
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.forms.importing import ColumnsForm, QuestionsForm, SheetForm, UploadForm
from collection.importing import batches, kinds
from collection.importing.batches import CannotImport
from collection.models import ImportBatch
from collection.rights import keeper_only
from collection.spreadsheets.cells import Unreadable

PER_PAGE = 100
SHOWN_BATCHES = 50
State = ImportBatch.State


def _open_batch(pk: int) -> ImportBatch:
    """A batch that is not in the collection yet."""
    return get_object_or_404(ImportBatch.objects.filter(state__in=batches.OPEN), pk=pk)


def _user(request: HttpRequest) -> User:
    return cast(User, request.user)


@keeper_only
@require_http_methods(["GET", "POST"])
def import_list(request: HttpRequest) -> HttpResponse:
    """Bring a file; the files brought before."""
    posted = request.method == "POST"
    form = UploadForm(request.POST, request.FILES) if posted else UploadForm()
    batch = _received(request, form) if posted and form.is_valid() else None
    if batch is not None:
        return redirect("collection:import-columns", batch.pk)
    before = ImportBatch.objects.defer("data", "rows").select_related("user")[:SHOWN_BATCHES]
    context = {"form": form, "batches": before, "titles": {kind.name: kind.title for kind in kinds.in_order()}}
    return render(request, "collection/import_list.html", context, status=422 if posted else 200)


def _received(request: HttpRequest, form: UploadForm) -> ImportBatch | None:
    file = form.cleaned_data["file"]
    kind = form.cleaned_data["kind"]
    try:
        return batches.receive(file.read(), file.name, kind, _user(request), timezone.localdate())
    except Unreadable as problem:
        form.add_error("file", problem.sentence)
        return None


@keeper_only
@require_http_methods(["GET", "POST"])
def import_columns(request: HttpRequest, pk: int) -> HttpResponse:
    """What each column means."""
    batch = _open_batch(pk)
    today = timezone.localdate()
    table = batches.table_of(batch)
    posted = request.method == "POST"
    form = ColumnsForm(request.POST if posted else None, batch=batch, table=table, today=today)
    if posted and form.is_valid():
        batch.as_of = form.cleaned_data["as_of"]
        batch.new_group = form.cleaned_data.get("new_group", "")
        batches.settle(batch, table, form.chosen(), batch.answers)
        return redirect("collection:import-questions", batch.pk)
    sheets = SheetForm(sheets=table.sheets, initial={"sheet": table.sheet}) if len(table.sheets) > 1 else None
    context = {"batch": batch, "table": table, "form": form, "sheets": sheets, "kind": kinds.known[batch.kind]}
    return render(request, "collection/import_columns.html", context, status=422 if posted else 200)


@keeper_only
@require_POST
def import_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Read another sheet of the workbook."""
    batch = _open_batch(pk)
    form = SheetForm(request.POST, sheets=batches.table_of(batch).sheets)
    try:
        if form.is_valid():
            batches.choose_sheet(batch, form.cleaned_data["sheet"])
    except Unreadable as problem:
        messages.error(request, problem.sentence)
    return redirect("collection:import-columns", batch.pk)


@keeper_only
@require_http_methods(["GET", "POST"])
def import_questions(request: HttpRequest, pk: int) -> HttpResponse:
    """What the columns cannot tell; straight on to the preview when they tell everything."""
    batch = _open_batch(pk)
    today = timezone.localdate()
    table = batches.table_of(batch)
    open_now = batches.open_questions(batch, table, today).questions
    posted = request.method == "POST"
    form = QuestionsForm(request.POST if posted else None, questions=open_now, answers=batch.answers)
    if posted and form.is_valid():
        batches.settle(batch, table, batch.columns, {**batch.answers, **form.cleaned_data})
    elif open_now:
        context = {"batch": batch, "form": form}
        return render(request, "collection/import_questions.html", context, status=422 if posted else 200)
    try:
        batches.preview(batch, today)
    except batches.NotReady as problem:
        messages.error(request, str(problem))
        return redirect("collection:import-columns", batch.pk)
    return redirect("collection:import-detail", batch.pk)


@keeper_only
@require_safe
def import_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Every row with what becomes of it, before it is written and after."""
    batch = get_object_or_404(ImportBatch.objects.defer("data"), pk=pk)
    if batch.state == State.RECEIVED:
        return redirect("collection:import-columns", batch.pk)
    shown = request.GET.get("show", "")
    rows = [row for row in batch.rows if row[2] == shown] if shown in batch.counts else batch.rows
    context = {
        "batch": batch,
        "kind": kinds.known[batch.kind],
        "page": Paginator(rows, PER_PAGE).get_page(request.GET.get("page")),
        "shown": shown,
        "all": sum(batch.counts.values()),
        "writes": batch.counts.get("new", 0) + batch.counts.get("changed", 0),
    }
    return render(request, "collection/import_detail.html", context)


@keeper_only
@require_POST
def import_commit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write what the preview showed. The same form twice writes once."""
    batch = get_object_or_404(ImportBatch, pk=pk)
    try:
        batches.commit(batch, request.POST.get("plan", ""), _user(request), timezone.localdate())
    except CannotImport as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Imported: {batch.filename}.")
    return redirect("collection:import-detail", batch.pk)


@keeper_only
@require_POST
def import_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the whole import back."""
    batch = get_object_or_404(ImportBatch.objects.defer("data", "rows"), pk=pk)
    try:
        batches.undo(batch, _user(request))
    except CannotImport as refusal:
        messages.error(request, f"Not taken back: {batch.filename}. {refusal}")
    else:
        messages.info(request, f"Taken back: {batch.filename}.")
    return redirect("collection:import-detail", batch.pk)


@keeper_only
@require_POST
def import_discard(request: HttpRequest, pk: int) -> HttpResponse:
    """Throw a file away that was not written."""
    batch = _open_batch(pk)
    batch.delete()
    messages.info(request, f"Thrown away: {batch.filename}. Nothing of it was written.")
    return redirect("collection:import-list")
