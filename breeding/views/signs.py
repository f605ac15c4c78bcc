"""The table of ratios behind the sac watch: read, changed, reset."""

from __future__ import annotations

from typing import NamedTuple

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from breeding import sacwatch, sign_table
from breeding.forms_signs import SignRatioForm
from breeding.models import Sign, SignRatio
from breeding.models.signs import weights_in_force
from breeding.signs import ASSUMED, DEFAULT, WORDS
from collection import receipts
from collection.htmx import send_to
from collection.views.log import sent, written

EVEN, EXAMPLE = 0.5, 0.2


class Line(NamedTuple):
    """One row: the sign, its ratio, what it makes of two chances, why, and whether it is the keeper's own."""

    sign: str
    word: str
    ratio: float
    example: float
    even: float
    why: str
    own: bool


@require_safe
def sign_list(request: HttpRequest) -> HttpResponse:
    """Every sign with its ratio and its reason."""
    own = set(SignRatio.objects.values_list("sign", flat=True))
    rows = weights_in_force().items()
    lines = [_line(sign, weight.ratio, weight.why, sign in own) for sign, weight in rows]
    context = {
        "lines": lines,
        "days": sacwatch.SIGN_DAYS,
        "success": sacwatch.SUCCESS[0] / sum(sacwatch.SUCCESS),
        "seen": sacwatch.SEEN_INSERTIONS,
        "none": sacwatch.SEEN_NONE,
    }
    return render(request, "breeding/sign_list.html", context)


def _line(sign: str, ratio: float, why: str, own: bool) -> Line:
    example, even = (odds / (1 + odds) for odds in (ratio * EXAMPLE / (1 - EXAMPLE), ratio))
    return Line(sign, WORDS[sign], ratio, example, even, why if own else f"{why}; {ASSUMED}", own)


@require_http_methods(["GET", "POST"])
@receipts.once
def sign_edit(request: HttpRequest, sign: str) -> HttpResponse:
    """The keeper's own ratio of one sign."""
    if sign not in DEFAULT:
        raise Http404
    form = SignRatioForm(sent(request), sign=sign, now=weights_in_force()[sign])
    if request.method == "POST" and written(form):
        return send_to(request, reverse("breeding:sign-ratios"))
    shipped = DEFAULT[sign]
    context = {
        "form": form,
        "sign": sign,
        "shipped": _line(sign, shipped.ratio, shipped.why, own=False),
        "own": SignRatio.objects.filter(sign=sign).exists(),
        "resting": Sign.objects.filter(kind=sign).count(),
    }
    return render(request, "breeding/sign_edit.html", context, status=422 if request.method == "POST" else 200)


@require_POST
@receipts.once
def sign_reset(request: HttpRequest, sign: str) -> HttpResponse:
    """The shipped ratio of one sign again."""
    if sign not in DEFAULT:
        raise Http404
    sign_table.reset_ratio(sign)
    return send_to(request, reverse("breeding:sign-ratios"))
