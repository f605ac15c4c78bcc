"""Pictures of an animal: added many at once, shown, set side by side, and handed out to those who are signed in."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import etag, require_http_methods, require_safe
from django.views.decorators.vary import vary_on_headers

from collection import receipts
from collection.forms.photos import PhotoForm
from collection.htmx import send_to, wants_fragment
from collection.models import Photo, Specimen
from collection.photos import keeping, shelf
from collection.photos.measures import Growth
from collection.rights import helper_may
from collection.views.log import versions

PER_PAGE = 60
TYPES = {shelf.LARGE: "image/jpeg", shelf.SMALL: "image/webp"}
A_YEAR = "private, max-age=31536000, immutable"  # what has a random name of its own never changes


@helper_may
@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add pictures. They are decoded before the transaction begins, which would keep all other writers waiting."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    if request.method != "POST":
        asked = {name: request.GET[name] for name in ("molt", "evidence") if request.GET.get(name)}
        return _form(request, PhotoForm(specimen=specimen, initial=asked))
    form = PhotoForm(request.POST, request.FILES, specimen=specimen)
    if not form.is_valid():
        return _form(request, form, 422)
    form.look()
    return _keep(request, form)


@receipts.once
def _keep(request: HttpRequest, form: PhotoForm) -> HttpResponse:
    """Store what can be kept; what cannot is listed beside it."""
    data = form.cleaned_data
    form.arrived = keeping.keep(form.specimen, form.arrived, data.get("molt"), data.get("evidence"))
    refused = sum(bool(one.refused) for one in form.arrived)
    if refused == len(form.arrived):
        return _form(request, form, 422)
    if refused:
        context = {"specimen": form.specimen, "arrived": form.arrived, "receipt": receipts.current(), "n": refused}
        template = "collection/photo_arrived.html" + ("#arrived" if wants_fragment(request) else "")
        return render(request, template, context)
    return send_to(request, reverse("collection:photo-list", args=[form.specimen.pk]))


def _form(request: HttpRequest, form: PhotoForm, status: int = 200) -> HttpResponse:
    context = {"specimen": form.specimen, "form": form, "action": request.path, "most": keeping.MOST_AT_ONCE}
    template = "collection/photo_form.html" + ("#photo-form" if wants_fragment(request) else "")
    return render(request, template, context, status=status)


@helper_may
@require_safe
def photo_list(request: HttpRequest, pk: int) -> HttpResponse:
    """All pictures of an animal, latest first."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    page = Paginator(specimen.photos.all(), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "collection/photo_list.html", {"specimen": specimen, "page": page})


@helper_may
@require_safe
def photo_detail(request: HttpRequest, pk: int, photo: int) -> HttpResponse:
    """One picture, with what is known of the day it was taken."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    shown = get_object_or_404(specimen.photos.select_related("molt", "evidence"), pk=photo)
    context = {
        "photo": shown,
        "specimen": specimen,
        "sizes": Growth(specimen).on(shown.latest),
        "newer": specimen.photos.newer_than(shown).first(),
        "older": specimen.photos.older_than(shown).first(),
        "who": versions(shown)[-1].who,
    }
    return render(request, "collection/photo_detail.html", context)


@helper_may
@require_safe
def photo_compare(request: HttpRequest, pk: int) -> HttpResponse:
    """Two pictures side by side: the oldest and the latest, unless others are asked for."""
    specimen = get_object_or_404(Specimen.objects.for_display(), pk=pk)
    photos = list(specimen.photos.order_by("earliest", "pk"))
    if len(photos) < 2:
        return render(request, "collection/photo_compare.html", {"specimen": specimen, "photos": photos})
    by_pk = {str(photo.pk): photo for photo in photos}
    pair = by_pk.get(request.GET.get("of", ""), photos[0]), by_pk.get(request.GET.get("and", ""), photos[-1])
    older, newer = sorted(pair, key=photos.index)
    growth = Growth(specimen)
    context = {
        "specimen": specimen,
        "photos": photos,
        "sides": [(older, growth.on(older.latest)), (newer, growth.on(newer.latest))],
        "between": growth.between(older, newer),
    }
    return render(request, "collection/photo_compare.html", context)


@helper_may
@require_safe
@etag(lambda request, name, kind: f'"{name}"')
def photo_file(request: HttpRequest, name: str, kind: str) -> HttpResponseBase:
    """The picture itself, or its thumbnail, to people of this house."""
    photo = get_object_or_404(Photo.objects.only("name"), name=name)
    try:
        file = open(shelf.path_of(photo.name, kind), "rb")  # noqa: SIM115 - the answer closes it
    except OSError:
        raise Http404 from None
    answer = FileResponse(file, content_type=TYPES[kind])
    answer.headers["Cache-Control"] = A_YEAR
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Content-Encoding"] = "identity"  # packed already: the middleware need not try
    return answer
