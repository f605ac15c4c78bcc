"""Records of pictures: kept, refused one by one, and their files thrown away a month after the record was."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max

from collection import receipts
from collection.dates import FuzzyDate
from collection.models import Molt, Photo, SexEvidence, Specimen
from collection.photos import shelf
from collection.photos.intake import Picture

MOST_AT_ONCE = 20
KEPT_AFTER = timedelta(days=30)


@dataclass(frozen=True)
class Arrived:
    """One file of a form: the picture made of it, or why it is not taken; the day it is said to be of."""

    filename: str
    picture: Picture | None = None
    refused: str = ""
    day: FuzzyDate | None = None
    caption: str = ""
    kept: Photo | None = None


def day_of(taken: date | None, otherwise: FuzzyDate, today: date) -> FuzzyDate:
    """The camera's day, unless it has none or its clock runs ahead."""
    return FuzzyDate.on(taken) if taken and taken <= today else otherwise


def keep(
    specimen: Specimen, arrived: Iterable[Arrived], molt: Molt | None = None, evidence: SexEvidence | None = None
) -> list[Arrived]:
    """Store what can be kept, each picture of an animal once; the others come back with their refusal."""
    on_file = {photo.sha256: photo for photo in specimen.photos.all()}
    done: list[Arrived] = []
    with transaction.atomic():
        for one in arrived:
            if one.picture is not None and one.picture.sha256 in on_file:
                same = on_file[one.picture.sha256]
                one = replace(one, picture=None, refused=f"This picture of {specimen} is on file already: {same.when}.")
            elif one.picture is not None:
                one = replace(one, kept=_stored(specimen, one, molt, evidence))
                on_file[one.picture.sha256] = one.kept  # type: ignore[union-attr,assignment]
            done.append(one)
    count = sum(one.kept is not None for one in done)
    receipts.note(f"{count} pictures of {specimen}" if count > 1 else f"Picture of {specimen}", [specimen.pk])
    return done


def _stored(specimen: Specimen, one: Arrived, molt: Molt | None, evidence: SexEvidence | None) -> Photo:
    if one.picture is None or one.day is None:
        raise ValueError("Only a picture with its day can be stored.")
    picture = one.picture
    photo = Photo(
        specimen=specimen,
        molt=molt,
        evidence=evidence,
        earliest=one.day.earliest,
        latest=one.day.latest,
        caption=one.caption[:200],
        sha256=picture.sha256,
        width=picture.width,
        height=picture.height,
        size=len(picture.large) + len(picture.small),
    )
    shelf.put(photo.name, picture)  # first the files: a record never stands without them
    _beside_its_skin(photo)
    photo.save()
    return photo


def _beside_its_skin(photo: Photo) -> None:
    """What shows the evidence from a skin is a picture of that skin."""
    if photo.evidence is not None and photo.molt is None:
        photo.molt = photo.evidence.molt


def correct(photo: Photo) -> None:
    """Store what is said of a picture; nothing that is derived hangs on it."""
    _beside_its_skin(photo)
    photo.save()
    receipts.note(f"Changed the picture of {photo.specimen}, {photo.when}", [photo.specimen_id])


@receipts.mends("collection.photo")
def refuse_without_files(photos: Sequence[int]) -> list[int]:
    """A record that comes back needs its picture."""
    if any(not shelf.holds(photo.name) for photo in Photo.objects.filter(pk__in=photos)):
        raise receipts.CannotUndo("The picture itself was thrown away a month after its record.")
    return []


def purge(now: datetime) -> list[str]:
    """Throw away the files that no record has named for 30 days; returns their names."""
    named = set(Photo.objects.values_list("name", flat=True))
    written: dict[str, float] = {}
    for name, at in shelf.stored():
        if name not in named:
            written[name] = max(at, written.get(name, at))
    gone = Photo.history.filter(history_type="-", name__in=written).values_list("name").annotate(Max("history_date"))
    removed: dict[str, float] = {name: at.timestamp() for name, at in gone}
    limit = (now - KEPT_AFTER).timestamp()
    old = sorted(name for name, at in written.items() if max(at, removed.get(name, at)) < limit)
    for name in old:
        shelf.throw_away(name)
    return old
