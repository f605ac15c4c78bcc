"""Turns animals and enclosures into what their labels say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import Prefetch, Q

from collection import descents
from collection.dates import FuzzyDate
from collection.models import Listing, Specimen, SpecimenKind, Taxon
from collection.sexing import Verdict
from collection.templatetags.scopula import hair_word, hazard_word
from husbandry.labels import names
from husbandry.labels.content import Content, Hazard, Name
from husbandry.models import Enclosure, Place, Stay

SEX_MARKS = {verdict.value: verdict.value.replace("_", " ") for verdict in Verdict}
ROMAN = "Appendix "


def of_specimens(ids: Sequence[int], today: date) -> dict[int, Content]:
    """Contents for animals by their keys, in the order given."""
    found = Specimen.objects.for_display().prefetch_related(_listings("taxon__listings", today), _stays())
    known, told = found.in_bulk(list(ids)), descents.notes(ids)
    return {pk: _of_specimen(known[pk], told.get(pk, "")) for pk in ids if pk in known}


def of_enclosures(ids: Sequence[int], today: date) -> dict[int, Content]:
    """The same for enclosures: who lives in each, and the strongest hazard among them."""
    found = Enclosure.objects.with_occupants(
        Stay.objects.prefetch_related(_listings("specimen__taxon__listings", today))
    )
    known = found.in_bulk(list(ids))
    told = descents.notes([stay.specimen_id for box in known.values() for stay in box.open_stays])  # type: ignore[attr-defined]
    return {pk: _of_enclosure(known[pk], told) for pk in ids if pk in known}


def _listings(path: str, today: date) -> Prefetch[str]:
    """Listings in force, as far as known; one without a date counts as always in force."""
    in_force = Listing.objects.filter(Q(since__isnull=True) | Q(since__lte=today))
    return Prefetch(path, in_force, to_attr="in_force")


def _stays() -> Prefetch[str]:
    return Prefetch("stays", Stay.objects.open().select_related("enclosure__place"), to_attr="open_stays")


def _of_specimen(animal: Specimen, told: str) -> Content:
    stays: list[Stay] = animal.open_stays  # type: ignore[attr-defined]
    taxon = animal.taxon
    dated = _date(animal)
    return Content(
        tag=animal.tag,
        code=animal.code,
        names=(name_of(taxon, hybrid=animal.hybrid),),
        common=taxon.common_name,
        sex=sex_mark(animal),
        count=_count(animal),
        date=dated[0],
        short_date=dated[1],
        hazards=hazards_of([taxon]),
        note=taxon.hazard_note,
        listing=_listing(taxon, animal.origin),
        descent=_sire(told),
        price=f"Price {animal.price:.2f}" if animal.price is not None else "",
        place=_place(stays[0].enclosure) if stays else "",
    )


def _of_enclosure(box: Enclosure, told: Mapping[int, str]) -> Content:
    animals = [stay.specimen for stay in box.open_stays]  # type: ignore[attr-defined]
    taxa = list({animal.taxon_id: animal.taxon for animal in animals}.values())
    only = animals[0] if len(animals) == 1 else None
    dated = _date(only) if only else ("", "")
    return Content(
        tag=box.tag,
        code=box.code,
        names=tuple(dict.fromkeys(name_of(animal.taxon, hybrid=animal.hybrid) for animal in animals)),
        common=", ".join(taxon.common_name for taxon in taxa if taxon.common_name),
        sex=sex_mark(only) if only else "",
        lives_here=", ".join(f"{animal.code} {_count(animal)}".strip() for animal in animals),
        date=dated[0],
        short_date=dated[1],
        hazards=hazards_of(taxa),
        note="; ".join(dict.fromkeys(taxon.hazard_note for taxon in taxa if taxon.hazard_note)),
        listing=_listing(only.taxon, only.origin) if only else _listing_of_all(taxa),
        descent="; ".join(dict.fromkeys(said for one in animals if (said := _sire(told.get(one.pk, ""))))),
        place=_place(box),
    )


def name_of(taxon: Taxon, *, hybrid: bool = False) -> Name:
    """A taxon’s name as labels print it; the mark of a hybrid is part of its name, so that it never gives way."""
    name = names.qualified(taxon.name, taxon.rank)
    return Name(f"{name} {descents.HYBRID}", "") if hybrid else Name(name, taxon.authorship)


def _sire(told: str) -> str:
    """What is told of a descent beside the mark of a hybrid."""
    return told.removeprefix(descents.HYBRID).removeprefix(", ")


def sex_mark(animal: Specimen) -> str:
    """The mark of what is known of its sex."""
    if animal.kind != SpecimenKind.SINGLE.value:
        return "group"
    return "evidence clashes" if animal.standing.sex_conflict else SEX_MARKS[animal.standing.sex]


def hazards_of(taxa: Iterable[Taxon]) -> tuple[Hazard, ...]:
    """The strongest venom class and the strongest class of hairs, each with its words."""
    known = list(taxa)
    venom = max(known, key=lambda taxon: taxon.venom_class or 0, default=None)
    hairs = max(known, key=lambda taxon: taxon.hair_class or 0, default=None)
    found = []
    if venom and venom.venom_class:
        found.append(Hazard("bite", f"V{venom.venom_class}", venom.venom_class, hazard_word(venom)))
    if hairs and hairs.hair_class:
        found.append(Hazard("hairs", f"H{hairs.hair_class}", hairs.hair_class, hair_word(hairs.hair_class)))
    return tuple(found)


def _count(animal: Specimen) -> str:
    """How many a group is: it stands behind the mark of a group."""
    return "" if animal.kind == SpecimenKind.SINGLE.value else f"×{animal.standing.head_count}"


def _date(animal: Specimen) -> tuple[str, str]:
    """When it hatched, else since when it is here: in full, and to the month for cups."""
    for word, short, when in (("hatched", "born", animal.hatched), ("here since", "here", animal.acquired)):
        if when:
            return f"{word} {when}", f"{short} {_month(when)}"
    return "", ""


def _month(when: FuzzyDate) -> str:
    return str(when)[:7] if when.precision in {"day", "month"} else f"{when.middle.year}"


def _listing(taxon: Taxon, origin: str) -> str:
    said = _listing_of_all([taxon])
    return f"{said}, source {origin}" if said else ""


def _listing_of_all(taxa: Iterable[Taxon]) -> str:
    rows = [row for taxon in taxa for row in taxon.in_force]  # type: ignore[attr-defined]
    return ", ".join(dict.fromkeys(f"{row.scheme} {row.entry.removeprefix(ROMAN)}" for row in rows))


def _place(box: Enclosure) -> str:
    """Where it stands: shelf and place in it."""
    place: Place | None = box.place
    if place is None:
        return ""
    return f"{place.name}, place {box.position}" if box.position else place.name
