"""The table of likelihoods behind every verdict of sex: read, changed, reset."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection import evidence, receipts
from collection.forms.evidence import LikelihoodForm
from collection.htmx import send_to
from collection.models import SexEvidence, SexLikelihood
from collection.models.likelihoods import likelihoods_in_force
from collection.sexing import BASIS, DEFAULT, Finding, Likelihoods, method_of, say_row, say_weight, speaking, weigh
from collection.views.log import sent, written

KEYS = {slugify(row.replace("–", "-")): row for row in DEFAULT}


@dataclass(frozen=True)
class Line:
    """One row of the table: its figures, what each finding weighs, and whether the keeper changed it."""

    key: str
    row: str
    likelihoods: Likelihoods
    calls: tuple[tuple[Finding, str, str, str], ...]
    own: bool
    basis: str


@require_safe
def likelihood_list(request: HttpRequest) -> HttpResponse:
    """Every row with its figures and where they come from."""
    own = set(SexLikelihood.objects.values_list("row", flat=True))
    table = likelihoods_in_force()
    lines = [_line(key, row, table[row], row in own) for key, row in KEYS.items()]
    return render(request, "collection/likelihood_list.html", {"lines": lines, "own": len(own)})


def _line(key: str, row: str, now: Likelihoods, own: bool) -> Line:
    calls = []
    for finding in speaking(row):
        female, male = now.of(finding)
        weight = weigh([(female, male)]).reasons[0].weight
        calls.append((finding, f"{female * 100:.4g} %", f"{male * 100:.4g} %", say_weight(weight)))
    return Line(key, say_row(row), now, tuple(calls), own, now.why if own else f"{now.why}: {BASIS}")


def _row_of(key: str) -> str:
    if key not in KEYS:
        raise Http404
    return KEYS[key]


@require_http_methods(["GET", "POST"])
@receipts.once
def likelihood_edit(request: HttpRequest, key: str) -> HttpResponse:
    """The keeper's own figures for one row; all verdicts follow."""
    row = _row_of(key)
    form = LikelihoodForm(sent(request), row=row, now=likelihoods_in_force()[row])
    if request.method == "POST" and written(form):
        return send_to(request, reverse("collection:likelihood-list"))
    context = {
        "form": form,
        "key": key,
        "shipped": _line(key, row, DEFAULT[row], False),
        "own": SexLikelihood.objects.filter(row=row).exists(),
        "resting": SexEvidence.objects.filter(method=method_of(row).value, withdrawn="").count(),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/likelihood_edit.html", context, status=status)


@require_POST
@receipts.once
def likelihood_reset(request: HttpRequest, key: str) -> HttpResponse:
    """The shipped figures of one row again."""
    evidence.reset_likelihood(_row_of(key))
    return send_to(request, reverse("collection:likelihood-list"))
