"""Writes of husbandry: meals, water, moves, rhythms, holds, places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db import transaction
from django.db.models import Q, QuerySet

from collection import dues, receipts
from collection.models import Specimen, SpecimenKind, Status
from collection.services import Refused, at_the_end, if_not_the_end, refuse_after_end, remove, write
from collection.wording import plural
from husbandry.models import Enclosure, Feeding, FeedRhythm, Hold, Place, Stay, Upkeep, UpkeepRhythm
from husbandry.rhythm import Outcome

FED = ("feed", "hardening")  # the due dates that food, a rhythm or a hold can move
ROUNDS = ("water", "upkeep")  # and those that water, misting or cleaning can


def record_feeding(feeding: Feeding) -> Feeding:
    """One offer of food. The same client-made key twice is one feeding: the second answers with the first."""
    if feeding.key is not None and feeding.pk is None:  # one on record is being corrected
        known = Feeding.objects.filter(key=feeding.key).first()
        if known is not None:
            return known
    refuse_after_end(feeding.specimen, feeding.on)
    specimen = feeding.specimen
    label = f"{feeding.get_outcome_display().capitalize()}: {specimen.code}"
    write(feeding, [specimen], label, moves=FED)
    return feeding


def settle_left(feeding: Feeding, outcome: Outcome) -> Feeding:
    """What became of prey that was left in: eaten, or taken out. The offer keeps its day; its history says the rest."""
    feeding.outcome = outcome.value
    write(feeding, [feeding.specimen], f"{outcome.label.capitalize()}: {feeding.specimen.code}", moves=FED)
    return feeding


def record_upkeep(upkeep: Upkeep) -> Upkeep:
    """Something done to an enclosure; it concerns all who live there."""
    label = f"{upkeep.get_kind_display().capitalize()}: {upkeep.enclosure.code}"
    write(upkeep, residents(upkeep.enclosure), label, moves=ROUNDS)
    return upkeep


def record_round(place: Place, kind: str, day: date) -> int:
    """The same upkeep in every enclosure of a place that somebody lives in, at once; says how many."""
    found = Enclosure.objects.in_use().filter(place__walk_key__startswith=place.walk_key, stays__ends__isnull=True)
    enclosures = list(found.filter(stays__isnull=False).distinct())
    if not enclosures:
        raise Refused(f"Nobody lives in {place}.")
    with transaction.atomic():
        receipts.note(f"{Upkeep.Kind(kind).label.capitalize()}: {place}, {plural(len(enclosures), 'enclosure')}")
        for enclosure in enclosures:
            Upkeep(enclosure=enclosure, kind=kind, on=day).save()
        touched = _standing_in(place)
        dues.refresh(touched, ROUNDS)
        receipts.note("", touched)
    return len(enclosures)


def remove_upkeep(upkeep: Upkeep) -> None:
    """Take away what was not done after all."""
    remove(upkeep, residents(upkeep.enclosure), f"Took away: {upkeep} of {upkeep.enclosure.code}")


def residents(enclosure: Enclosure) -> list[Specimen]:
    """Who lives in an enclosure now."""
    return list(Specimen.objects.filter(stays__enclosure=enclosure, stays__ends__isnull=True))


@receipts.mends("husbandry.enclosure")
def residents_of(enclosures: Sequence[int]) -> list[int]:
    """Whose water an enclosure's particulars move."""
    return list(Stay.objects.open().filter(enclosure__in=enclosures).values_list("specimen_id", flat=True))


@receipts.mends("husbandry.upkeep")
def beside_upkeep(upkeep: Sequence[int]) -> Iterable[int]:
    """Who lives now where something was done and taken back."""
    where = Upkeep.history.filter(id__in=upkeep).values_list("enclosure_id", flat=True)
    return residents_of(list(where))


def enclosure_of(specimen: Specimen) -> Enclosure | None:
    """Where an animal stands now."""
    stay = Stay.objects.open().filter(specimen=specimen).select_related("enclosure__place").first()
    return stay.enclosure if stay else None


def move(specimen: Specimen, enclosure: Enclosure, day: date, *, companion: bool = False) -> Stay:
    """Close the open stay and begin the next, on one day."""
    refuse_after_end(specimen, day)
    if specimen.standing.status in {Status.DEAD.value, Status.PASSED_ON.value}:
        raise Refused(f"{specimen.code} is {specimen.standing.get_status_display()} and stands nowhere any more.")
    if enclosure.retired_on is not None:
        raise Refused(f"{enclosure.code} was retired on {enclosure.retired_on}.", "enclosure")
    with transaction.atomic():
        _leave(specimen, enclosure, day)
        others = Stay.objects.open().filter(enclosure=enclosure).select_related("specimen")
        _refuse_company(specimen, enclosure, list(others), companion)
        stay = Stay(specimen=specimen, enclosure=enclosure, begins=day, companion=companion)
        stay.save()
        dues.refresh([specimen.pk])
        receipts.note(f"Moved {specimen.code} to {enclosure.code}", [specimen.pk])
    return stay


@at_the_end("stay")
def free_enclosure(specimen: Specimen, day: date) -> None:
    """Whoever is dead or gone for good stands nowhere, and the enclosure is free for the next."""
    late = Q(ends__isnull=True) | Q(ends__gt=day)
    current = Stay.objects.filter(late, specimen=specimen).order_by("-begins", "-id").first()
    if current is not None and current.ends != max(day, current.begins):
        current.ends = max(day, current.begins)
        current.save(update_fields=["ends"])


@if_not_the_end("stay")
def back_in_place(specimen: Specimen, day: date) -> str:
    """Whoever did not die or leave stands where it stood, unless another lives there now."""
    last = Stay.objects.filter(specimen=specimen).select_related("enclosure").first()
    if last is None or last.ends != max(day, last.begins):
        return ""
    others = Stay.objects.open().filter(enclosure=last.enclosure).select_related("specimen")
    taken = ", ".join(stay.specimen.code for stay in others if not (stay.companion or last.companion))
    if taken or last.enclosure.retired_on is not None:
        why = f"is taken by {taken}" if taken else "was retired"
        return f"Its enclosure {last.enclosure.code} {why}: move it into another."
    last.ends = None
    last.save(update_fields=["ends"])
    return ""


def _leave(specimen: Specimen, enclosure: Enclosure, day: date) -> None:
    """Close the open stay; stays of one animal never overlap."""
    later = Stay.objects.filter(specimen=specimen, ends__gt=day).order_by("-ends").first()
    if later is not None:
        raise Refused(f"It was in another enclosure until {later.ends}; it cannot have moved before that day.", "on")
    current = Stay.objects.open().filter(specimen=specimen).first()
    if current is None:
        return
    if current.enclosure_id == enclosure.pk:
        raise Refused(f"It is in {enclosure.code} already.", "enclosure")
    if day < current.begins:
        raise Refused(f"It has been where it is since {current.begins}; it cannot have moved before that day.", "on")
    current.ends = day
    current.save(update_fields=["ends"])


def _refuse_company(specimen: Specimen, enclosure: Enclosure, others: list[Stay], companion: bool) -> None:
    """A solitary animal keeps its enclosure to itself unless the keeper says otherwise."""
    if others and not companion:
        names = ", ".join(stay.specimen.code for stay in others)
        kept = "The group" if specimen.kind != SpecimenKind.SINGLE.value else "It"
        raise Refused(
            f"{enclosure.code} is taken by {names}. {kept} can join only when you tick “put together on purpose”.",
            "enclosure",
        )


def set_rhythm(rhythm: FeedRhythm) -> FeedRhythm:
    """The keeper's own interval from a day on; a second one for the same on the same day replaces the first."""
    if rhythm.specimen is not None:
        refuse_after_end(rhythm.specimen, rhythm.since)
    same = _same_rhythms(rhythm).first()
    if same is not None and rhythm.pk not in (None, same.pk):
        raise Refused("Another rhythm begins on that day already; correct that one.", "on")
    if same is not None:
        same.days, same.reason, same.season_to = rhythm.days, rhythm.reason, rhythm.season_to
        rhythm = same
    before = FeedRhythm.objects.filter(pk=rhythm.pk).first()
    fed = [*whom_it_feeds(rhythm), *(whom_it_feeds(before) if before else [])]  # it may have been of another place
    write(rhythm, fed, f"Rhythm of {_called(rhythm)}: {rhythm}", moves=FED)
    return rhythm


def upkeep_around(of: Enclosure | Place) -> dict[str, tuple[int, str]]:
    """What the places around an enclosure or a place ask for, by kind: days, and the name of the nearest that does."""
    place = of.place if isinstance(of, Enclosure) else of
    key = place.walk_key if place else ""
    ends = range(4, len(key) + (1 if isinstance(of, Enclosure) else 0), 4)
    rows = UpkeepRhythm.objects.filter(place__walk_key__in=[key[:end] for end in ends], days__gt=0)
    nearest_last = sorted(rows.values_list("place__walk_key", "kind", "days", "place__name"))
    return {kind: (days, name) for _, kind, days, name in nearest_last}


def set_upkeep_rhythms(of: Enclosure | Place, days: Mapping[str, int | None], today: date) -> None:
    """How often each kind of upkeep is done in an enclosure, or in all that stand in a place. None takes one away."""
    where = {"enclosure": of} if isinstance(of, Enclosure) else {"place": of}
    known = {row.kind: row for row in UpkeepRhythm.objects.filter(**where)}
    with transaction.atomic():
        for kind, every in days.items():
            row = known.get(kind)
            if every is None and row is not None:
                row.delete()
            elif every is not None and row is None:
                UpkeepRhythm(**where, kind=kind, days=every, since=today).save()
            elif every is not None and row is not None and row.days != every:
                row.days = every
                row.save(update_fields=["days"])
        touched = _standing_in(of)
        dues.refresh(touched, ROUNDS)
        receipts.note(f"Upkeep rhythm of {of}", touched)


def _standing_in(of: Enclosure | Place) -> list[int]:
    """Who lives in an enclosure, or anywhere in a place."""
    stays = Stay.objects.open()
    if isinstance(of, Enclosure):
        stays = stays.filter(enclosure=of)
    else:
        stays = stays.filter(enclosure__place__walk_key__startswith=of.walk_key)
    return list(stays.values_list("specimen_id", flat=True))


@receipts.mends("husbandry.upkeeprhythm")
def beside_rhythms(rhythms: Sequence[int]) -> list[int]:
    """Whose upkeep these rhythms set."""
    found: set[int] = set()
    rows = UpkeepRhythm.history.filter(id__in=rhythms).select_related("enclosure", "place")
    for row in rows:
        of = row.enclosure or row.place
        found.update(_standing_in(of) if of else [])
    return list(found)


def remove_rhythm(rhythm: FeedRhythm) -> None:
    """Take a rhythm away; whom it fed follow the next one."""
    remove(rhythm, whom_it_feeds(rhythm), f"Took away the rhythm of {_called(rhythm)}: {rhythm}")


def _same_rhythms(rhythm: FeedRhythm) -> QuerySet[FeedRhythm]:
    """What the database keeps once: one thing, one day, one stage, one season."""
    return FeedRhythm.objects.filter(
        specimen=rhythm.specimen,
        place=rhythm.place,
        taxon=rhythm.taxon,
        since=rhythm.since,
        stage=rhythm.stage,
        season_from=rhythm.season_from,
    )


def _called(rhythm: FeedRhythm) -> str:
    return rhythm.specimen.code if rhythm.specimen is not None else str(rhythm.of)


def whom_it_feeds(rhythm: FeedRhythm) -> list[Specimen]:
    """The animals whose next feed a rhythm can move."""
    if rhythm.specimen is not None:
        return [rhythm.specimen]
    if rhythm.place is None:
        return list(Specimen.objects.filter(taxon=rhythm.taxon).here())
    stays = Stay.objects.open().filter(enclosure__place__walk_key__startswith=rhythm.place.walk_key)
    return list(Specimen.objects.filter(pk__in=stays.values("specimen")).here())


@receipts.mends("husbandry.feedrhythm")
def whom_it_fed(rhythms: Sequence[int]) -> Iterable[int]:
    """Whose feeds follow when a rhythm was taken back."""
    for row in FeedRhythm.history.filter(id__in=rhythms):
        yield from (animal.pk for animal in whom_it_feeds(row.instance))


def set_hold(hold: Hold) -> Hold:
    """Stop feeding an animal for a while."""
    refuse_after_end(hold.specimen, hold.begins)
    write(hold, [hold.specimen], f"Hold on {hold.specimen.code}: {hold.get_kind_display()}", moves=FED)
    return hold


def lift_hold(hold: Hold, day: date) -> Hold:
    """End a hold of the keeper's own."""
    if day <= hold.begins:
        raise Refused("A hold lasts at least a day; take it back instead.")
    if hold.ends is not None and hold.ends <= day:
        raise Refused(f"This hold ended on {hold.ends}; there is nothing left to lift.")
    hold.ends = day
    write(hold, [hold.specimen], f"Hold on {hold.specimen.code} lifted", moves=FED)
    return hold


def save_place(place: Place) -> Place:
    """A place, and the walking keys of all that stands in it."""
    if place.pk and place.parent_id and _is_inside(place.parent, place):
        raise Refused(f"{place.name} cannot stand inside itself.", "parent")
    with transaction.atomic():
        place.save()
        renumber_walk()
        place.refresh_from_db(fields=["walk_key"])
        if UpkeepRhythm.objects.filter(place__isnull=False).exists():
            dues.refresh(_standing_in(place), ROUNDS)  # it may stand in another rack now, with another rhythm
        if FeedRhythm.objects.filter(place__isnull=False).exists():
            dues.refresh(_standing_in(place), FED)
        receipts.note(f"Place {place.name}")
    return place


def _is_inside(candidate: Place | None, place: Place) -> bool:
    while candidate is not None:
        if candidate.pk == place.pk:
            return True
        candidate = candidate.parent
    return False


@receipts.mends("husbandry.place")
def walk_anew(places: Sequence[int]) -> list[int]:
    """A place that was taken back has its old key, as all inside; who stands there follows its rhythms again."""
    renumber_walk()
    if not any(kind.objects.filter(place__isnull=False).exists() for kind in (UpkeepRhythm, FeedRhythm)):
        return []
    return list({animal for place in Place.objects.filter(pk__in=places) for animal in _standing_in(place)})


def renumber_walk() -> None:
    """Write the walking key of every place anew: four digits a level, in the order of the walk."""
    children: dict[int | None, list[Place]] = {}
    for place in Place.objects.order_by("order", "name", "id"):
        children.setdefault(place.parent_id, []).append(place)
    changed: list[Place] = []
    stack: list[tuple[int | None, str]] = [(None, "")]
    while stack:
        parent, prefix = stack.pop()
        for number, place in enumerate(children.get(parent, []), start=1):
            key = f"{prefix}{number:04d}"
            if place.walk_key != key:
                place.walk_key = key
                changed.append(place)
            stack.append((place.pk, key))
    Place.objects.bulk_update(changed, ["walk_key"])


def save_enclosure(enclosure: Enclosure) -> Enclosure:
    """An enclosure's particulars; what its water rhythm changes follows."""
    inside = residents(enclosure) if enclosure.pk and enclosure.retired_on else []
    if inside:
        names = ", ".join(animal.code for animal in inside)
        lives = "lives" if len(inside) == 1 else "live"
        raise Refused(f"{names} {lives} in {enclosure.code}. Move what lives there first.", "retired_on")
    with transaction.atomic():
        enclosure.save()
        touched = [animal.pk for animal in residents(enclosure)]
        dues.refresh(touched)
        receipts.note(f"Enclosure {enclosure.code}", touched)
    return enclosure
