"""The one box: a code, a name, a taxon, a tag or a scanned address."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from collection import tags
from collection.models import Specimen
from collection.rights import helper_may

SHOWN = 20


@helper_may
@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """Go straight to the one animal that is meant, or list what matches."""
    text = request.GET.get("q", "").strip()[:200]
    exact = Specimen.objects.filter(code__iexact=text).first() if text else None
    if exact is not None:
        return HttpResponseRedirect(exact.get_absolute_url())
    tag = tags.read(text) if text else None
    if tag is not None:
        return HttpResponseRedirect(f"{reverse('tag', args=[tag])}?to=page")
    found = list(Specimen.objects.for_display().found_by(text).order_by("code")[: SHOWN + 1]) if text else []
    if len(found) == 1:
        return HttpResponseRedirect(found[0].get_absolute_url())
    context = {"text": text, "found": found[:SHOWN], "more": len(found) > SHOWN}
    return render(request, "collection/find.html", context)
