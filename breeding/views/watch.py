"""Views of breeding: the sac watch, pairings, sacs and their counts."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from breeding import before, broodwords, kin, livelog, loans, meetwords
from breeding.forms import HeadCountForm, NewMeetingForm, SacStateForm
from breeding.kinship.words import percent, say_inbreeding
from breeding.models import EggSac, Meeting, Pairing
from breeding.watching import axis, waiting
from collection import receipts
from collection.htmx import send_to
from collection.models import Due, Specimen, Status
from collection.stages import Group
from collection.views.log import sent, written

PER_PAGE = 25
FRESH_DAYS = 42  # so long what comes next after a meeting is told on its page


@require_safe
def sac_watch(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """All paired females, sac or molt; with `pk` the page on which this one stands comes to her."""
    today = timezone.localdate()
    dues = Due.objects.of("sac").order_by("due_on", "specimen_id")
    pages = Paginator(dues, PER_PAGE)
    page = pages.get_page(request.GET.get("page") or _page_of(pk))
    window = dues.filter(pk__in=[due.pk for due in page.object_list])
    context = {
        "page": page,
        "rows": list(waiting(window, today)),
        "today": today,
        "axis": axis(today),
        "opened": pk,
        "sacs": EggSac.objects.running().for_display()[:PER_PAGE],
        "pairings": Pairing.objects.for_display()[:10],
    }
    return render(request, "breeding/sac_watch.html", context)


def _page_of(pk: int | None) -> int:
    """The page of the sac watch on which a female stands."""
    if pk is None:
        return 1
    order = list(Due.objects.of("sac").order_by("due_on", "specimen_id").values_list("specimen_id", flat=True))
    return order.index(pk) // PER_PAGE + 1 if pk in order else 1


@require_safe
def pairing_list(request: HttpRequest) -> HttpResponse:
    """Every pairing, newest first."""
    page = Paginator(Pairing.objects.for_display(), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "breeding/pairing_list.html", {"page": page})


@require_safe
def pairing_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One pairing: cautions first, then its meetings and sacs."""
    pairing = get_object_or_404(Pairing.objects.for_display(), pk=pk)
    meetings = list(pairing.meetings.all())
    last = meetings[-1] if meetings else None
    context = {
        "pairing": pairing,
        "meetings": meetings,
        "last": last,
        "after": _after(pairing, last) if last else [],
        "sacs": pairing.sacs.prefetch_related("head_counts"),
        "terms": loans.terms_of(pairing.male),
        "young": _young(pairing),
        "factors": before.factors(pairing, timezone.localdate()),
        "words": meetwords.words_of(Group(pairing.female.taxon.group)),
        "brood": broodwords.words_of(Group(pairing.female.taxon.group)).brood,
    }
    return render(request, "breeding/pairing_detail.html", context)


def _young(pairing: Pairing) -> str:
    """What the inbreeding coefficient of their young would be, in words."""
    if pairing.male_id is None:
        return ""
    value = kin.family([pairing.female_id, pairing.male_id]).pedigree.kinship(pairing.female_id, pairing.male_id)
    return f"inbreeding coefficient {percent(value)}, {say_inbreeding(value)}"


def _after(pairing: Pairing, last: Meeting) -> list[str]:
    """What to do next, as long as the last meeting is fresh."""
    if (timezone.localdate() - last.latest).days > FRESH_DAYS:
        return []
    lost = pairing.female if last.ending == Meeting.Ending.FEMALE_LOST else pairing.male
    logged = lost is None or lost.standing.status == Status.DEAD.value
    return livelog.after(last.ending, last.insertions, Group(pairing.female.taxon.group), logged=logged)


@require_safe
def sac_list(request: HttpRequest) -> HttpResponse:
    """Every sac, newest first."""
    page = Paginator(EggSac.objects.for_display(), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "breeding/sac_list.html", {"page": page})


def _form(request: HttpRequest, form: Any, specimen: Specimen, done: str) -> HttpResponse:
    """Show a form, or write it and go back to what it belongs to."""
    posted = request.method == "POST"
    if posted and written(form):
        return send_to(request, done)
    context = {"form": form, "specimen": specimen, "action": request.get_full_path(), "back": done}
    return render(request, "collection/log_form.html", context, status=422 if posted else 200)


@require_http_methods(["GET", "POST"])
@receipts.once
def meeting_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One more meeting."""
    pairing = get_object_or_404(Pairing.objects.for_display(), pk=pk)
    form = NewMeetingForm(sent(request), pairing=pairing)
    return _form(request, form, pairing.female, pairing.get_absolute_url())


@require_http_methods(["GET", "POST"])
@receipts.once
def count_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A count of a sac."""
    sac = get_object_or_404(EggSac.objects.for_display(), pk=pk)
    form = HeadCountForm(sent(request), sac=sac)
    return _form(request, form, sac.female, sac.get_absolute_url())


@require_http_methods(["GET", "POST"])
@receipts.once
def sac_state(request: HttpRequest, pk: int) -> HttpResponse:
    """Taken from her, or ended and how."""
    sac = get_object_or_404(EggSac.objects.for_display(), pk=pk)
    form = SacStateForm(sent(request), sac=sac, what=request.GET.get("what", ""))
    return _form(request, form, sac.female, sac.get_absolute_url())
