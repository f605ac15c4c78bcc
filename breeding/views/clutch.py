"""A sac with its stages, looks and books; its young, shares and loans."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from breeding import clutches, stage_chart
from breeding.broodwords import BroodWords
from breeding.development import NoForecast, spread_of_stages
from breeding.forms_brood import BroodShareForm, DeliverForm, LoanEndForm, PassOnForm, SacCheckForm, TakeOutForm
from breeding.ledger import Books, Line
from breeding.models import BroodShare, EggSac, HeadCount, Loan
from collection import descents, receipts
from collection.htmx import send_to
from collection.models import Specimen
from collection.views.log import sent, written


def _sac(pk: int) -> EggSac:
    rows = EggSac.objects.for_display().prefetch_related("checks__photo", "shares__to", "members__specimen__standing")
    return get_object_or_404(rows, pk=pk)


@require_safe
def sac_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One sac: its stages by the warmth it had, what wants doing, looks, the books of its heads, its young."""
    sac, today = _sac(pk), timezone.localdate()
    words, warmth = clutches.words(sac), clutches.warmth_of(sac)
    windows = clutches.forecast(sac, warmth)
    books = clutches.keep_books(sac)
    checks = list(sac.checks.all())
    last = checks[0] if checks else None
    differences, worked = clutches.differences(sac) if sac.outcome else ([], 0)
    context: dict[str, Any] = {
        "sac": sac,
        "words": words,
        "warmth": warmth,
        "taking": clutches.taking(sac, windows, today),
        "checks": checks,
        "alarms": clutches.alarms(last.celsius, last.humidity, last.look) if last and not sac.outcome else [],
        "books": books,
        "lines": _lines(sac, books, words) if books else [],
        "days": (today - sac.when.middle).days,
        "ended_after": (sac.ended_on - sac.when.middle).days if sac.ended_on else None,
        "lost": sac.outcome in clutches.LOST,
        "again": clutches.another(sac),
        "funnel": clutches.funnel(sac, books, words) if books else [],
        "shares": clutches.shares_of(sac),
        "members": sac.members.all(),
        "here": clutches.left_with_us(sac.members.all()),
        "made": clutches.say_made(list(sac.members.all())),
        "differences": differences,
        "worked": worked,
        "today": today,
    }
    if isinstance(windows, NoForecast):
        context["no_forecast"] = windows.reason
    elif windows:
        context["chart"] = stage_chart.chart(sac.when.middle, windows, words.labels, today)
        if clutches.seen_in(sac) is None:
            spread = spread_of_stages(windows, today)
            first = "eggs" if words.stages[0][0] == "egg" else words.stages[0][1]  # a scorpion never lays any
            labels = {**words.labels, "egg": first}
            shares = ((labels.get(name, name), share) for name, share in spread.items())
            context["spread"] = [(word, share) for word, share in shares if share >= 0.005]
    return render(request, "breeding/sac_detail.html", context)


def _lines(sac: EggSac, books: Books, words: BroodWords) -> list[tuple[Line, list[tuple[str, HeadCount]]]]:
    """The lines of the books, each with its counts, so that one of them can be mended."""
    counts = list(sac.head_counts.all())
    return [
        (line, [(words.labels.get(c.stage, c.stage), c) for c in counts if c.latest == line.day])
        for line in books.lines
    ]


@require_safe
def clutch_of(request: HttpRequest, pk: int) -> HttpResponse:
    """The page of a female's running sac."""
    sac = get_object_or_404(EggSac.objects.running().filter(female=pk).order_by("-earliest")[:1])
    return HttpResponseRedirect(sac.get_absolute_url())


def _form(request: HttpRequest, form: Any, done: str) -> HttpResponse:
    """Show a form about a sac, or write it and go back to the sac."""
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, done)
    context = {"form": form, "back": done}
    return render(request, "collection/record_form.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def check_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A look at a sac."""
    sac = _sac(pk)
    form = SacCheckForm(sent(request), sac=sac, specimen=sac.female)
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, sac.get_absolute_url())
    context = {"form": form, "specimen": sac.female, "action": request.path, "back": sac.get_absolute_url()}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def share_edit(request: HttpRequest, pk: int, share: int | None = None) -> HttpResponse:
    """Who gets which part of a brood."""
    sac = _sac(pk)
    known = get_object_or_404(BroodShare, pk=share, sac=sac) if share else BroodShare(sac=sac)
    return _form(request, BroodShareForm(sent(request), instance=known, sac=sac), sac.get_absolute_url())


@require_http_methods(["GET", "POST"])
@receipts.once
def deliver(request: HttpRequest, pk: int, share: int) -> HttpResponse:
    """Hand over so many of a share."""
    sac = _sac(pk)
    owed = next((one for one in clutches.shares_of(sac) if one.share.pk == share), None)
    found = get_object_or_404(BroodShare.objects.select_related("sac__female", "to"), pk=share, sac=sac)
    form = DeliverForm(sent(request), share=found, owed=owed.owed if owed else 0)
    return _form(request, form, sac.get_absolute_url())


@require_http_methods(["GET", "POST"])
@receipts.once
def pass_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Singles of a brood to somebody without a share."""
    sac = _sac(pk)
    owed = sum(one.owed for one in clutches.shares_of(sac))
    return _form(request, PassOnForm(sent(request), sac=sac, owed=owed), f"{sac.get_absolute_url()}#young")


@require_http_methods(["GET", "POST"])
@receipts.once
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Young into cups with codes and tags; then their labels."""
    sac = _sac(pk)
    return _form(request, TakeOutForm(sent(request), sac=sac), f"{sac.get_absolute_url()}#young")


@require_safe
def loan_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper of a loan, to print and sign."""
    loan = get_object_or_404(Loan.objects.select_related("specimen__taxon", "specimen__standing", "contact"), pk=pk)
    return render(request, "breeding/loan_paper.html", {"loan": loan, "descent": descents.note(loan.specimen)})


@require_safe
def loan_list(request: HttpRequest) -> HttpResponse:
    """Open loans, those due back first, then the ended ones."""
    rows = Loan.objects.select_related("specimen__taxon", "specimen__standing", "contact")
    running = rows.filter(ended_on__isnull=True).order_by("due_back_on", "since")
    context = {"running": running, "ended": rows.filter(ended_on__isnull=False)[:50], "today": timezone.localdate()}
    return render(request, "breeding/loan_list.html", context)


@require_http_methods(["GET", "POST"])
@receipts.once
def loan_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Back with its owner."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    posted = request.method == "POST"
    form = LoanEndForm(sent(request), specimen=specimen)
    if posted and written(form):
        return send_to(request, specimen.get_absolute_url())
    context = {"form": form, "specimen": specimen, "action": request.path, "ahead": None}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)
