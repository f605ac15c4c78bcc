"""A label's address: the tag of an animal or of an enclosure, in capitals or not."""

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.views.decorators.http import require_safe

from collection import tags
from collection.models import Specimen
from collection.rights import helper_may
from husbandry.models import Enclosure


@helper_may
@require_safe
def by_tag(request: HttpRequest, tag: str) -> HttpResponse:
    """Go to what the tag is on."""
    read = tags.read(tag)
    for model in (Specimen, Enclosure):
        found = model._default_manager.filter(tag=read).first() if read else None
        if found is not None:
            return HttpResponseRedirect(found.get_absolute_url())
    raise Http404("Nothing here carries this tag. Check the eight characters on the label.")
