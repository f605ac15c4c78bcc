"""Writes around a clutch: looks, shares, and its young taken out into singles, trays and groups with own codes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db import transaction

from breeding.models import BroodMember, BroodShare, EggSac, PossibleSire, SacCheck
from breeding.pairings import possible_sires
from collection import descents, dues, receipts
from collection.models import Departure, GroupCount, Specimen, SpecimenKind
from collection.services import Refused, record_departure, write
from collection.wording import plural
from husbandry.models import Enclosure, Place, Stay
from husbandry.services import save_place

MOST = 2000  # heads with codes of their own in one step
CUP_MM = (60.0, 60.0, 70.0)


@dataclass(frozen=True)
class Split:
    """How a brood is taken out: so many singles, and groups of these sizes; codes begin with `prefix`."""

    on: date
    prefix: str
    singles: int
    groups: Sequence[int] = ()
    place: Place | None = None
    cups: bool = True
    tray: bool = False  # a new tray for the cups, in that place
    alone: bool = False  # she had no male: the young are copies of her

    @property
    def heads(self) -> int:
        """All of them together."""
        return self.singles + sum(self.groups)


def record_check(check: SacCheck) -> SacCheck:
    """A look at a sac; its warmth and what was seen move what wants doing."""
    write(
        check,
        [check.sac.female],
        f"Looked at the {check.sac.word} of {check.sac.female.code}: {check.get_look_display()}",
    )
    return check


def set_share(share: BroodShare) -> BroodShare:
    """What somebody gets of a brood. All shares together are no more than the brood."""
    others = BroodShare.objects.filter(sac=share.sac).exclude(pk=share.pk)
    if others.filter(to=share.to).exists():
        raise Refused(f"{share.to} has a share of this brood already; change that one.", "to")
    total = share.percent + sum(others.values_list("percent", flat=True))
    if total > 100 + 1e-9:
        raise Refused(f"The shares of this brood would add up to {total:g} %.", "percent")
    write(share, [share.sac.female], f"Share of the brood of {share.sac.female.code}: {share}")
    return share


def take_out(sac: EggSac, split: Split) -> list[Specimen]:
    """Give the young of a sac codes, tags and cups, in one step that can be undone as a whole.

    Dam, sire, clutch and hatching day come from the sac; young of two taxa are marked as hybrids for ever. Refuses
    more heads than were last counted, and a day before the sac was laid.
    """
    _refuse_split(sac, split)
    with transaction.atomic():
        receipts.note(f"Took {split.heads} out of the {sac.word} of {sac.female.code}")  # before the tray's own name
        sires = possible_sires(sac)
        named = codes(split.prefix, split.singles + len(split.groups))
        animals = [_young(sac, split, sires, code) for code in named]
        split = replace(split, place=_tray(split, named))
        sizes = [1] * split.singles + list(split.groups)
        for number, (animal, heads) in enumerate(zip(animals, sizes, strict=True), start=1):
            _keep(sac, split, sires, animal, heads, number)
        pks = [animal.pk for animal in animals]
        dues.refresh([*pks, sac.female_id])
        receipts.note("", [*pks, sac.female_id])
    return animals


def _tray(split: Split, named: Sequence[str]) -> Place | None:
    """Where the cups stand: a new tray named after what is in it, unless they were put into a tray already."""
    if not split.tray or not split.cups or (split.place and split.place.kind == Place.Kind.TRAY.value):
        return split.place
    rooms = list(Place.objects.filter(parent__isnull=True)[:2])
    parent = split.place or (rooms[0] if len(rooms) == 1 else None)
    tray = Place(name=f"Tray {named[0]}"[:60], kind=Place.Kind.TRAY.value, parent=parent)
    tray.note = "" if len(named) == 1 else f"{named[0]} to {named[-1]}"[:120]
    return save_place(tray)


def _refuse_split(sac: EggSac, split: Split) -> None:
    if split.heads < 1:
        raise Refused("Say how many are taken out.", "singles")
    if split.alone and possible_sires(sac):
        raise Refused(f"{sac.female.code} was paired before this {sac.word}, so nobody can say that there was no male.")
    if split.heads > MOST:
        raise Refused(f"No more than {MOST} at a time.", "singles")
    if split.on < sac.earliest:
        raise Refused(f"The {sac.word} is of {sac.when}; nothing came out of it before.", "on")
    left = left_in(sac)
    if left is not None and split.heads > left:
        raise Refused(
            f"The last count leaves {left} in the {sac.word}, and {split.heads} would be taken out.", "singles"
        )


def left_in(sac: EggSac) -> int | None:
    """How many the last day of counting left there, less those taken out since; None before the first count."""
    counts = list(sac.head_counts.all())
    if not counts:
        return None
    last = max(count.latest for count in counts)
    alive = sum(count.alive for count in counts if count.latest == last)
    out = BroodMember.objects.filter(sac=sac, on__gte=last).values_list("number", flat=True)
    return max(alive - sum(out), 0)


def codes(prefix: str, number: int) -> list[str]:
    """The next free codes with this prefix: B-014, B-015, …"""
    taken = set(Specimen.history.filter(code__istartswith=f"{prefix}-").values_list("code", flat=True))
    numbers = [int(tail) for code in taken if (tail := code[len(prefix) + 1 :]).isdecimal()]
    first = max(numbers, default=0) + 1
    width = max(len(str(first + number)), 3)
    return [f"{prefix}-{n:0{width}d}" for n in range(first, first + number)]


def clutch_of(sac: EggSac) -> str:
    """The word by which sac-mates are known."""
    return f"{sac.female.code} sac {sac.pk}"


def _young(sac: EggSac, split: Split, sires: Sequence[Specimen | None], code: str) -> Specimen:
    """One animal or group of the sac, as far as the sac says what it is."""
    sire = sires[0] if len(sires) == 1 else None
    hatched = _hatched(sac) or (split.on, split.on)
    young = Specimen(
        code=code,
        taxon=sac.female.taxon,
        dam=sac.female,
        sire=sire,
        clutch=clutch_of(sac)[:40],
        locality=sac.female.locality if sire is not None and sire.locality == sac.female.locality else "",
        hatched_earliest=hatched[0],
        hatched_latest=hatched[1],
        acquired_earliest=hatched[0],
        acquired_latest=hatched[1],
        how="bred",
        origin="F" if sac.female.origin == "W" else "C",
    )
    young.fatherless = True if split.alone else None
    young.hybrid = descents.crossed(young, sac.female, *sires)
    return young


def _hatched(sac: EggSac) -> tuple[date, date] | None:
    """Between the last count with eggs only and the first without: as far as the counts say."""
    hatched = [count for count in sac.head_counts.all() if count.stage != "egg" and count.alive]
    if not hatched:
        return (sac.ended_on, sac.ended_on) if sac.outcome == EggSac.Outcome.HATCHED.value and sac.ended_on else None
    first = min(hatched, key=lambda count: count.earliest)
    return first.earliest, first.latest


def _keep(
    sac: EggSac, split: Split, sires: Sequence[Specimen | None], animal: Specimen, heads: int, number: int
) -> None:
    if heads > 1:
        animal.kind = SpecimenKind.GROUP.value
    animal.save()
    if heads > 1:
        GroupCount(specimen=animal, earliest=split.on, latest=split.on, count=heads, method="counted").save()
    BroodMember(sac=sac, specimen=animal, number=heads, on=split.on).save()
    known = [one for one in sires if one is not None]
    if len(sires) > 1:  # one of several: each as likely as the others, and the rest of the chance is the unknown one's
        for one in known:
            PossibleSire(young=animal, male=one, chance=1 / len(sires)).save()
    if not split.cups:
        return
    length, width, height = CUP_MM
    cup = Enclosure(
        code=f"{animal.code} cup",
        place=split.place,
        position=number,
        kind=Enclosure.Kind.CUP.value if heads == 1 else Enclosure.Kind.TUB.value,
        length_mm=length if heads == 1 else None,
        width_mm=width if heads == 1 else None,
        height_mm=height if heads == 1 else None,
        water_dish=False,
    )
    cup.save()
    Stay(specimen=animal, enclosure=cup, begins=split.on).save()


def deliver(share: BroodShare, number: int, day: date, owed: int | None = None) -> list[Specimen]:
    """Pass so many singles of the brood on to the holder of a share: the first codes that are still here.

    Refuses more than is `owed`, where that is told.
    """
    if owed is not None and number > owed:
        are = "is" if owed == 1 else "are"
        raise Refused(f"{owed} {are} owed to {share.to}. What goes beyond a share is passed on without one.", "number")
    animals = singles_here(share.sac, number, day)
    with transaction.atomic():
        receipts.note(f"Delivered {number} to {share.to}")
        for animal in animals:
            record_departure(Departure(specimen=animal, kind="passed_on", on=day, contact=share.to, note="brood share"))
    return animals


def pass_on(sac: EggSac, number: int, gone: Departure, owed: int) -> list[Specimen]:
    """Pass so many singles on to somebody without a share; `gone` holds to whom, when and what one of them brought.

    What is owed to others stays here.
    """
    here = BroodMember.objects.filter(sac=sac, specimen__standing__status="here").values_list("number", flat=True)
    if number > sum(here) - owed:
        free = max(sum(here) - owed, 0)
        raise Refused(
            f"{sum(here)} of this brood are here and {owed} of them are owed: {free} are free to go.", "number"
        )
    animals = singles_here(sac, number, gone.on)
    with transaction.atomic():
        receipts.note(f"Passed {number} of the {sac.word} of {sac.female.code} on to {gone.contact}")
        for animal in animals:
            given = {"on": gone.on, "contact": gone.contact, "price": gone.price, "note": gone.note}
            record_departure(Departure(specimen=animal, kind="passed_on", **given))
    return animals


def singles_here(sac: EggSac, number: int, day: date) -> list[Specimen]:
    """The first so many singles of a brood that are still here, and were taken out by that day."""
    members = BroodMember.objects.filter(sac=sac, number=1, specimen__standing__status="here")
    found = list(members.select_related("specimen__standing")[:number])
    if len(found) < number:
        are = "is" if len(found) == 1 else "are"
        raise Refused(f"Only {plural(len(found), 'single')} of this brood {are} here.", "number")
    if day < (taken := max(member.on for member in found)):
        raise Refused(f"They were taken out on {taken}; this day lies before it.", "on")
    return [member.specimen for member in found]
