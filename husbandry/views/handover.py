"""The handover sheet, on the screen and on paper, and the emergency card printed on it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts
from collection.htmx import send_to
from collection.rights import helper_may
from collection.views.log import written
from husbandry import handover
from husbandry.forms.handover import AbsenceForm, EmergencyCardForm
from husbandry.models import EmergencyCard


@helper_may
@require_safe
def handover_sheet(request: HttpRequest) -> HttpResponse:
    """Who gets what on which day while the keeper is away; printing this page gives the sheet."""
    form = AbsenceForm({**AbsenceForm.usual(), **request.GET.dict()})
    sheet = None
    if form.is_valid():
        data = form.cleaned_data
        sheet = handover.sheet(data["place"], data["begins"], data["ends"], data["sheet"] or 1)
    context = {"form": form, "sheet": sheet, "card": EmergencyCard.of_the_house()}
    return render(request, "husbandry/handover.html", context, status=200 if form.is_valid() else 422)


@require_http_methods(["GET", "POST"])
@receipts.once
def emergency_card(request: HttpRequest) -> HttpResponse:
    """Whom to call: the one card of the house."""
    form = EmergencyCardForm(request.POST or None, instance=EmergencyCard.of_the_house())
    if request.method == "POST" and written(form):
        return send_to(request, reverse("husbandry:handover"))
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/record_form.html", {"form": form}, status=status)
