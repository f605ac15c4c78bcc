"""Feeders: how they stand, their books, and what to buy."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.core.paginator import Paginator
from django.db.models import Sum
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from collection import receipts
from collection.htmx import send_to
from collection.views.log import removed, sent, versions, written
from husbandry import feeder_outlook, feeding_figures
from husbandry.demand import DAYS
from husbandry.feeder_books import Books
from husbandry.feeder_ledger import EntryKind
from husbandry.feeder_outlook import Outlook
from husbandry.feeder_words import say_standing
from husbandry.forms.feeders import EntryForm, FeederForm, ShoppingForm
from husbandry.models import FeederEntry, FeederStock
from husbandry.models.feeders import WRITTEN

PER_PAGE = 60
MONTH = timedelta(days=30)


@require_safe
def feeder_list(request: HttpRequest) -> HttpResponse:
    """What is there, what the coming four weeks need by prey and size, when each runs out, what it costs."""
    today = timezone.localdate()
    found = feeder_outlook.fresh(today)
    rows = [
        (one, say_standing(one, today), feeding_figures.lasting(one.outlast.early, one.outlast.likely, DAYS))
        for one in found.standings
    ]
    weeks = feeding_figures.week_ticks(today, DAYS)
    context = {"found": found, "rows": rows, "weeks": weeks, "today": today, "costs": _costs(found, today)}
    context |= {"last": today + timedelta(days=DAYS - 1), "given_up": FeederStock.objects.filter(kept=False)}
    return render(request, "husbandry/feeder_list.html", context)


def _costs(found: Outlook, today: date) -> dict[str, Decimal | None]:
    """What was spent on feeders in the last month, and what the coming four weeks will cost at the last prices."""
    bought = FeederEntry.objects.filter(kind=EntryKind.BOUGHT.value, on__gt=today - MONTH)
    spent = bought.aggregate(total=Sum("cost"))["total"]
    priced = [one.price * Decimal(one.need.mean[-1]) for one in found.standings if one.price is not None and one.need]
    return {"spent": spent, "coming": sum(priced, Decimal()).quantize(Decimal("0.01")) if priced else None}


@require_safe
def feeder_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One feeder with its book, newest first."""
    stock = get_object_or_404(FeederStock.objects.select_related("culture__taxon", "culture__standing"), pk=pk)
    books = Books([stock], whole=True)
    entries = {entry.pk: entry for entry in books.entries[pk]}
    lines = [(line, entries.get(line.entry.ref or 0)) for line in reversed(books.lines[pk])]
    page = Paginator(lines, PER_PAGE).get_page(request.GET.get("page"))
    today = timezone.localdate()
    standing = next((one for one in feeder_outlook.recent(today).standings if one.stock.pk == pk), None)
    kinds = [kind for kind in WRITTEN if kind is not EntryKind.CULTURE or stock.culture_id]
    context = {"stock": stock, "page": page, "left": books.left(stock), "kinds": kinds, "standing": standing}
    context["says"] = say_standing(standing, today) if standing else ""
    return render(request, "husbandry/feeder_detail.html", context)


@require_http_methods(["GET", "POST"])
@receipts.once
def feeder_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new feeder, or a changed one."""
    stock = get_object_or_404(FeederStock, pk=pk) if pk else FeederStock()
    initial = None if pk else {name: request.GET.get(name) for name in ("kind", "mm")}
    form = FeederForm(sent(request), instance=stock, initial=initial)
    if request.method == "POST" and written(form):
        return send_to(request, form.instance.get_absolute_url())
    status = 422 if request.method == "POST" else 200
    return render(request, "collection/record_form.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
@receipts.once
def entry_new(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """A new entry in a feeder's book."""
    stock = get_object_or_404(FeederStock.objects.select_related("culture"), pk=pk)
    if kind not in {known.value for known in WRITTEN}:
        raise Http404
    shopping = "list" in request.GET  # one came from the shopping list, with how many it named, and goes back to it
    number = request.GET.get("number", "")
    initial = {"number": number} if number.isdecimal() else None
    form = EntryForm(sent(request), instance=FeederEntry(stock=stock, kind=kind), initial=initial)
    back = reverse("husbandry:shopping-list") if shopping else stock.get_absolute_url()
    if request.method == "POST" and written(form):
        return send_to(request, back)
    status = 422 if request.method == "POST" else 200
    context = {"form": form, "stock": stock, "back": back}
    return render(request, "husbandry/feeder_entry.html", context, status=status)


@require_http_methods(["GET", "POST"])
@receipts.once
def entry_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """A corrected entry, or one that is taken out of the book."""
    entry = get_object_or_404(FeederEntry.objects.select_related("stock__culture"), pk=pk)
    posted = request.method == "POST"
    form = EntryForm(sent(request), instance=entry)
    if posted and (removed(form, entry) if "remove" in request.POST else written(form)):
        return send_to(request, entry.stock.get_absolute_url())
    context = {"form": form, "stock": entry.stock, "versions": versions(entry)}
    return render(request, "husbandry/feeder_entry.html", context, status=422 if posted else 200)


@require_safe
def shopping_list(request: HttpRequest) -> HttpResponse:
    """What to buy so that every feeder suffices until the next shopping day; made to be printed."""
    today = timezone.localdate()
    form = ShoppingForm(request.GET or None)
    days = form.days(today, DAYS)
    found = feeder_outlook.fresh(today)
    lines = [(one, short, one.wanted(days), one.cost(short)) for one, short in found.shopping(days)]
    context = {
        "form": form,
        "days": days,
        "until": today + timedelta(days=days),
        "today": today,
        "lines": lines,
        "enough": [one for one in found.standings if not one.short(days)],
        "strangers": [(need, need.stock(days)) for need in found.strangers if need.stock(days)],
        "unpriced": [str(one.stock) for one, _, _, cost in lines if cost is None and one.culture is None],
        "total": sum((cost for *_, cost in lines if cost is not None), Decimal()).quantize(Decimal("0.01")),
    }
    return render(request, "husbandry/shopping_list.html", context)
