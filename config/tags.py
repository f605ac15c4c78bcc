"""A label's address: the tag of an animal or of an enclosure, in capitals or not."""

from __future__ import annotations

from urllib.parse import quote

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from collection import tags
from collection.models import Specimen
from collection.rights import helper_may
from husbandry import services, walks
from husbandry.models import Enclosure


@helper_may
@require_safe
def by_tag(request: HttpRequest, tag: str) -> HttpResponse:
    """Go to what the tag is on: on a walk to its card, else to its page.

    Whoever types a tag into the box (`?to=page`) asks for the page: only a scan at the rack means the card.
    """
    read = tags.read(tag)
    animal = Specimen.objects.filter(tag=read).first() if read else None
    enclosure = services.enclosure_of(animal) if animal else Enclosure.objects.filter(tag=read or "").first()
    found = animal or enclosure
    if found is None:
        raise Http404("Nothing here carries this tag. Check the eight characters on the label.")
    scanned = request.GET.get("to") != "page"
    card = _card(request, enclosure, animal) if enclosure and scanned else None
    return HttpResponseRedirect(card or found.get_absolute_url())


def _card(request: HttpRequest, enclosure: Enclosure, animal: Specimen | None) -> str | None:
    """The card of the walk that this person is on: `#ENCLOSURE`, or `#ENCLOSURE/ANIMAL` where the animal is meant."""
    walk = walks.open_walk(request.user, enclosure.pk)
    if walk is None:
        return None
    spot = "/".join(quote(code, safe="") for code in [enclosure.code, *([animal.code] if animal else [])])
    return f"{reverse('husbandry:walk', args=[walk.pk])}#{spot}"
