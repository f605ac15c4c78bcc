"""Labels: choose, look at true size, print; the house's address; printers and their calibration pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from collection import receipts
from collection.htmx import send_to, wants_fragment
from collection.rights import keeper_only
from collection.views.log import written
from husbandry.forms.labels import MOST_LABELS, AddressForm, ChoiceForm, LabelForm, PrinterForm, with_defaults
from husbandry.label_services import prints
from husbandry.label_services.prints import Subjects
from husbandry.labels import calibration, calibration_page, codes, faces, pdf, svg
from husbandry.labels.calibration import TRUE
from husbandry.labels.content import Content, Part
from husbandry.labels.faces import Face
from husbandry.labels.items import Text
from husbandry.labels.layout import Label
from husbandry.labels.papers import PAPERS
from husbandry.labels.run import Run, TooSmall, lay_out
from husbandry.models import LabelAddress, LabelPrint, Printer

NOT_STATE = ("csrfmiddlewaretoken", "once", "do")  # what a form carries beside its state
STALE_SHOWN = 60
PRINTS_SHOWN = 8
RULER_MM = 50
# A viewer of PDF is an object of the page that shows it; nothing else is let in.
PDF_POLICY = "default-src 'self'; object-src 'self'; style-src 'unsafe-inline'; frame-ancestors 'none'"


@dataclass(frozen=True)
class Shown:
    """A run as the page shows it."""

    run: Run
    subjects: Subjects
    contents: list[Content]

    @property
    def samples(self) -> list[tuple[SafeString, str]]:
        """The first label at true size, the one with least room, and a few more; with what to say of each."""
        labels = self.run.labels
        last = len(labels) - 1
        tightest = min(range(len(labels)), key=lambda at: _room(labels[at]))
        shown = dict.fromkeys([0, tightest, last, last // 2])
        return [(self._svg(at), "first" if at == 0 else "tightest" if at == tightest else "") for at in shown]

    def _svg(self, at: int) -> SafeString:
        paper, said = self.run.job.paper, self.contents[at]
        title = f"Label of {said.code}: {', '.join(name.name for name in said.names)}"
        drawn = svg.label(self.run.labels[at].items, paper.label_width, paper.label_height, title)
        return mark_safe(drawn)

    @property
    def sheet(self) -> SafeString:
        """Where the labels fall on the first page."""
        job = self.run.job
        title = f"Page of {job.paper.places}: {min(self.run.count, job.paper.places)} to print from place {job.start}"
        return mark_safe(svg.sheet(job.paper, job.start, self.run.count, title))

    @property
    def module(self) -> float:
        """The module in mm."""
        return self.run.dots * codes.dot(self.run.job.dpi)

    @property
    def left_out(self) -> list[str]:
        """What found no room, as words."""
        total = len(self.contents)
        return [
            f"{part.label} ({'all' if n == total else f'{n} of {total}'})" for part, n in self.run.left_out().items()
        ]

    @property
    def strange(self) -> str:
        """Letters that no face has: they would print as empty boxes."""
        return faces.missing("".join(content.letters for content in self.contents))


def _room(label: Label) -> tuple[int, float]:
    """The less room a label has, the more it leaves out and the smaller its name stands."""
    sizes = [item.pt for item in label.items if isinstance(item, Text) and item.face is Face.ITALIC]
    return -len(label.left_out), min(sizes, default=faces.FLOOR_PT)


@keeper_only
@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
@receipts.once
def label_page(request: HttpRequest) -> HttpResponse:
    """Choose animals or enclosures, paper and content; look; make the PDF."""
    posted = request.method == "POST"
    making = posted and request.POST.get("do") == "make"
    sent = request.POST if posted else request.GET
    data = with_defaults(sent, kind_changed=not making)
    choice, form = ChoiceForm(data), LabelForm(data)
    house = LabelAddress.of_the_house()
    fine = choice.is_valid() & form.is_valid()
    chosen = _chosen(choice, form) if fine and house and _is_chosen(sent) else {}
    shown = _shown(choice, form, chosen, house) if chosen else None
    if making and fine and shown is None and not form.errors:
        form.add_error(None, "Choose at least one label to print." if house else "Say under which address phones come.")
    if making and shown and not form.errors:
        row = prints.record(shown.run.job, form.cleaned_data["printer"], shown.subjects, _user(request))
        return send_to(request, row.get_absolute_url())
    wrong = bool(choice.errors or form.errors)
    if posted and not making and not wrong:
        return HttpResponseRedirect(f"{request.path}?{_state(data)}")
    context = {"choice": choice, "form": form, "shown": shown, "chosen": chosen, "house": house}
    template = "husbandry/label_page.html" + ("#fragment" if wants_fragment(request) else "")
    return render(request, template, {**context, **_around(choice, data)}, status=422 if wrong else 200)


def _user(request: HttpRequest) -> User:
    """Whoever is signed in: nobody else gets here."""
    user = request.user
    assert isinstance(user, User)
    return user


def _is_chosen(sent: QueryDict) -> bool:
    """Whether the keeper said anything yet: an empty page does not lay out the whole collection."""
    return any(name not in NOT_STATE for name in sent)


def _chosen(choice: ChoiceForm, form: LabelForm) -> dict[int, Content]:
    """What the labels of all that was chosen say, by key; nothing when they are too many for one print."""
    chosen = choice.chosen()
    wanted = len(chosen.ids) * form.cleaned_data["copies"]
    if wanted > MOST_LABELS:
        form.add_error(None, f"These are {wanted} labels; one print takes {MOST_LABELS}. Choose fewer.")
        return {}
    return chosen.contents(timezone.localdate())


def _shown(choice: ChoiceForm, form: LabelForm, chosen: dict[int, Content], house: str) -> Shown | None:
    """The run that the two forms ask for; what is wrong with it becomes an error of the form."""
    ids = [pk for pk in chosen if pk not in choice.left_out]
    contents = [chosen[pk] for pk in ids]
    try:
        return Shown(lay_out(form.job(house), contents), Subjects(choice.for_animals, ids), contents) if ids else None
    except TooSmall as problem:
        form.add_error("paper", str(problem))
    except ValueError as problem:
        form.add_error("printer", str(problem))
    return None


def _around(choice: ChoiceForm, data: QueryDict) -> dict[str, Any]:
    """What stands beside the preview: the animals to leave out, old labels, prints, printers."""
    old, animals, boxes = prints.stale(STALE_SHOWN)
    return {
        "data": data,
        "leave": choice.left_out,
        "old": old,
        "old_animals": animals,
        "old_boxes": boxes,
        "prints": LabelPrint.objects.select_related("user", "printer")[:PRINTS_SHOWN],
        "printers": Printer.objects.all(),
        "ruler": mark_safe(svg.ruler(RULER_MM)),
        "most": MOST_LABELS,
    }


def _state(data: QueryDict) -> str:
    """What the page's address holds: all that was chosen, without the form's own keys and what is empty."""
    kept = QueryDict(mutable=True)
    for name, values in data.lists():
        if name not in NOT_STATE and any(values):
            kept.setlist(name, values)
    kept["shown"] = data.get("kind", "")
    return kept.urlencode()


@keeper_only
@require_safe
def label_print(request: HttpRequest, pk: int) -> HttpResponse:
    """One print: its PDF, how to print it, and whose labels they are."""
    row = get_object_or_404(LabelPrint.objects.select_related("user", "printer"), pk=pk)
    labels = row.labels.select_related("specimen__taxon", "specimen__standing", "enclosure")
    context = {"row": row, "job": prints.job_of(row), "labels": labels, "house": LabelAddress.of_the_house()}
    return render(request, "husbandry/label_print.html", context)


@keeper_only
@require_safe
def label_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The PDF of a print, with what is known today."""
    row = get_object_or_404(LabelPrint, pk=pk)
    job, subjects = prints.job_of(row), prints.subjects_of(row)
    try:
        run = lay_out(job, list(subjects.contents(timezone.localdate()).values()))
    except TooSmall as problem:
        return render(request, "husbandry/label_refused.html", {"row": row, "sentence": problem}, status=422)
    name = f"labels-{timezone.localtime(row.at):%Y-%m-%d}-{row.pk}"
    return _pdf(pdf.render(run, name, cut=Part.CUT in job.parts), name)


def _pdf(content: bytes, name: str) -> HttpResponse:
    headers = {
        "Content-Disposition": f'inline; filename="{name}.pdf"',
        "Content-Security-Policy": PDF_POLICY,
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(content, content_type="application/pdf", headers=headers)


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def label_address(request: HttpRequest) -> HttpResponse:
    """Under which address phones reach the house; labels out there that carry another are listed afterwards."""
    posted = request.method == "POST"
    port = request.META.get("SERVER_PORT", "")
    suggestion = f"http://{settings.MACHINE}.local" + (f":{port}" if port not in {"", "80"} else "")
    form = AddressForm.current(request.POST if posted else None, suggestion)
    if posted and written(form):
        return send_to(request, reverse("husbandry:label-page"))
    house = LabelAddress.of_the_house()
    name = codes.host(house)
    context = {
        "form": form,
        "house": house,
        "numeric": codes.is_numeric(house),
        "unknown": name if house and not codes.is_numeric(house) and name not in settings.OUR_HOSTS else "",
    }
    return render(request, "husbandry/label_address.html", context, status=422 if posted else 200)


@keeper_only
@require_http_methods(["GET", "POST"])
@receipts.once
def printer_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A printer: its calibration page, and what the ruler reads on it."""
    printer = get_object_or_404(Printer, pk=pk) if pk else Printer(dpi=600, paper="a4-3x8")
    form = PrinterForm(request.POST or None, instance=printer)
    if request.method == "POST" and written(form):
        return send_to(request, form.instance.get_absolute_url())
    printer = get_object_or_404(Printer, pk=pk) if pk else Printer(dpi=600, paper="a4-3x8")
    paper = PAPERS[printer.paper]
    context = {
        "form": form,
        "printer": printer,
        "paper": paper,
        "mark": calibration.mark(paper),
        "stock": f"the roll of {paper.label_width:g} × {paper.label_height:g} mm"
        if paper.is_roll
        else "plain paper, " + paper.name.partition(",")[0],
        "rules": calibration.rules(paper),
        "error": printer.calibration,
    }
    return render(request, "husbandry/label_printer.html", context, status=422 if request.method == "POST" else 200)


@keeper_only
@require_safe
def calibration_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The calibration page of a printer, plain or with its error taken back to see whether that is right."""
    printer = get_object_or_404(Printer, pk=pk)
    corrected = "corrected" in request.GET
    known = printer.calibration if corrected else TRUE
    name = "calibration-checked" if corrected else "calibration"
    return _pdf(calibration_page.render(PAPERS[printer.paper], printer.dpi, known), name)
