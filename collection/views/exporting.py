"""Lists that leave the house: chosen, then streamed."""

from __future__ import annotations

import tempfile
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.exporting import kinds
from collection.forms.specimen import RegisterFilter
from collection.models import Specimen
from collection.rights import keeper_only
from collection.spreadsheets.outgoing import DIALECTS, csv_lines, write_workbook

WORKBOOK = "xlsx"
FORMATS = [(WORKBOOK, "Workbook (XLSX), best for coming back"), *((one.name, one.label) for one in DIALECTS.values())]
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
IN_MEMORY = 4 * 1024 * 1024  # a larger workbook waits on the disk


@keeper_only
@require_safe
def export_page(request: HttpRequest) -> HttpResponse:
    """What can be exported, of which animals, as which kind of file."""
    form = RegisterFilter(request.GET)
    count = form.narrow(Specimen.objects.all()).count()
    kept = [(name, value) for name, value in form.cleaned_data.items() if value]
    context = {"exports": kinds.in_order(), "formats": FORMATS, "count": count, "kept": kept, "form": form}
    return render(request, "collection/export.html", context)


@keeper_only
@require_safe
def export_file(request: HttpRequest, kind: str) -> HttpResponseBase:
    """One list of the animals that pass the register's filters."""
    export = kinds.exports.get(kind)
    wanted = request.GET.get("as", WORKBOOK)
    if export is None or (wanted != WORKBOOK and wanted not in DIALECTS):
        raise Http404
    found = RegisterFilter(request.GET).narrow(Specimen.objects.defer("taxon__sources", "taxon__seeded"))
    name = f"scopula-{export.name}-{timezone.localdate()}"
    if wanted == WORKBOOK:
        return _workbook(export, found, name)
    lines = csv_lines(export.headings(), export.rows(found), DIALECTS[wanted])
    answer = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


def _workbook(export: kinds.Export, found: Any, name: str) -> FileResponse:
    file = tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - the answer closes it
    write_workbook(file, export.title, export.headings(), export.rows(found))
    file.seek(0)
    answer = FileResponse(file, as_attachment=True, filename=f"{name}.xlsx", content_type=XLSX_TYPE)
    answer.headers["Content-Encoding"] = "identity"  # a zip already
    answer.headers["Cache-Control"] = "private, no-store"
    return answer
