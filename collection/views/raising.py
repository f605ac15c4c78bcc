"""How many unsexed young to keep for a pair: a calculator, for any brood, with everything in the address."""

from __future__ import annotations

import math
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection import figures
from collection import raising as brood
from collection.forms.raising import DEFAULTS, RaisingForm, TrayForm
from collection.models import Taxon
from collection.sexing import animals_for, chance_of, chance_of_draw, draws_for_pair

BARS = 40


@require_safe
def raising(request: HttpRequest) -> HttpResponse:
    """The number to keep, the chance for each number, what the brood here holds, and draws from a tray."""
    form = RaisingForm(DEFAULTS | request.GET.dict())
    tray = TrayForm(request.GET)
    context: dict[str, Any] = {"form": form, "tray": tray, "asked": bool(request.GET)}
    if form.is_valid():
        context |= _answer(form) | _known(form)
        context["draw"] = _draw(tray, form.cleaned_data["confidence"] / 100)
    return render(request, "collection/raising.html", context, status=200 if form.is_valid() else 422)


def _answer(form: RaisingForm) -> dict[str, Any]:
    """The least number, the one below it, and the climb towards it."""
    data = form.cleaned_data
    females, males, share = data["females"], data["males"], form.share()
    survival, confidence = data["survival"] / 100, data["confidence"] / 100

    def chance(n: int) -> float:
        return chance_of(n, females, males, share, survival)

    try:
        least = animals_for(females, males, confidence, share, survival)
    except ValueError as error:
        return {"refused": str(error)}
    numbers = _numbers(females + males, least, data["young"])
    chances = [(n, chance(n)) for n in numbers]
    near = [n for n in numbers if abs(n - least) <= 3 or n == data["young"]]
    return {
        "least": least,
        "at_least": say_chance(chance(least)),
        "one_less": say_chance(chance(least - 1)) if least > females + males else "",
        "figure": figures.climb(chances, confidence),
        "rows": [(n, say_chance(chance(n)), n >= least) for n in sorted({*near, least})],
        "with_young": say_chance(chance(data["young"])) if data["young"] else "",
        "enough": data["young"] is None or data["young"] >= least,
    }


def _numbers(first: int, least: int, young: int | None) -> list[int]:
    """The numbers of animals that the figure shows, the answer among them."""
    last = max(least + 3, math.ceil(least * 1.3))
    if young and least < young <= 2 * least:
        last = max(last, young)
    step = max(1, math.ceil((last - first + 1) / BARS))
    return list(range(least - (least - first) // step * step, last + 1, step))


def _known(form: RaisingForm) -> dict[str, Any]:
    """What the collection itself knows: its own survival, and the sibs that are here."""
    data = form.cleaned_data
    dam = data["dam"]
    taxon: Taxon | None = dam.taxon if dam else data["taxon"]
    months = data["months"] or float(DEFAULTS["months"])
    known: dict[str, Any] = {"taxon": taxon, "dam": dam, "months": months}
    if taxon is not None:
        known["own"] = brood.raised(taxon, months, timezone.localdate())
        known["sexed"] = brood.sexed_of(taxon)
    if dam is not None:
        found = brood.brood_of(dam, data["clutch"], data["survival"] / 100)
        known |= {"brood": found, "brood_pair": say_chance(found.pair)}
    return known


def _draw(tray: TrayForm, confidence: float) -> dict[str, Any] | None:
    if not tray.is_valid() or tray.cleaned_data["total"] is None or tray.cleaned_data["known_males"] is None:
        return None
    total, males = tray.cleaned_data["total"], tray.cleaned_data["known_males"]
    try:
        drawn = draws_for_pair(total, males, confidence)
    except ValueError as error:
        return {"refused": str(error)}
    below = say_chance(chance_of_draw(total, males, drawn - 1)) if drawn > 2 else ""
    return {"drawn": drawn, "chance": say_chance(chance_of_draw(total, males, drawn)), "below": below}


def say_chance(chance: float) -> str:
    """A chance in per cent with one decimal, rounded down: 94.99 % is not 95."""
    return f"{math.floor(chance * 1000 + 1e-9) / 10:g} %"
