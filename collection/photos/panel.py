"""Pictures on an animal's page, and as lines of its history."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from collection import panels, traces
from collection.models import Photo, Specimen
from collection.panels import Happening, LogForm, Panel, PanelKind
from collection.querysets import HERE

SHOWN = 8


def photos(specimen: Specimen, today: date) -> Panel:
    """The latest thumbnails; where there is none yet, what they are good for."""
    kept = traces.some([specimen.pk], specimen.photos.all())
    count = kept.count()
    context = {"photos": kept[:SHOWN], "all": count}
    return Panel("collection/_panel_photos.html", context, f"{count} kept" if count else "none yet")


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """Each picture as a line of the full history."""
    for photo in Photo.objects.filter(specimen=specimen):
        what = "picture of a skin" if photo.molt_id else "picture"
        yield Happening(photo.earliest, str(photo.when), what, photo.caption)


panels.timelines["photos"] = happenings
panels.register(PanelKind("photos", "Pictures", 40, photos))
panels.register_form(LogForm("photo", "Picture", "collection:photo-new", 48, lambda s: s.standing.status in HERE))
