"""Enclosures against their rules: turns rows into the plain values that `fitness` judges."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from collection.models import Specimen, SpecimenKind
from collection.stages import Group, Lifestyle, Stage
from husbandry import fitness
from husbandry.fitness import Box, Dweller, Remark
from husbandry.models import Enclosure, Stay

WANTED = (
    "pk", "specimen__taxon__group", "specimen__taxon__lifestyle", "specimen__taxon__size_measure",
    "specimen__standing__stage", "specimen__standing__size_mm", "enclosure__length_mm", "enclosure__width_mm",
    "enclosure__height_mm", "enclosure__substrate_mm",
)  # fmt: skip


@dataclass(frozen=True)
class Misfit:
    """An animal in an enclosure that breaks a rule."""

    stay: Stay
    remarks: list[Remark]


def misfits() -> list[tuple[int, list[Remark]]]:
    """Every stay of a single animal whose enclosure breaks a rule, in walking order. One query, whatever the number."""
    rows = (
        Stay.objects.open()
        .filter(specimen__kind=SpecimenKind.SINGLE.value, specimen__standing__status__in=("here", "loan_in"))
        .order_by("enclosure__place__walk_key", "enclosure__position", "enclosure__code", "pk")
        .values_list(*WANTED)
    )
    judged = ((pk, broken(_judge(*values))) for pk, *values in rows.iterator(2000))
    return [(pk, remarks) for pk, remarks in judged if remarks]


def shown(found: Iterable[tuple[int, list[Remark]]]) -> list[Misfit]:
    """These stays with their animals and enclosures."""
    remarks = dict(found)
    stays = Stay.objects.select_related("specimen__taxon", "specimen__standing", "enclosure__place").in_bulk(remarks)
    return [Misfit(stays[pk], remarks[pk]) for pk in remarks if pk in stays]


def broken(remarks: list[Remark]) -> list[Remark]:
    """Those that are broken, without those that want a measure."""
    return [remark for remark in remarks if remark.broken]


def of(specimen: Specimen, enclosure: Enclosure) -> list[Remark]:
    """What the rules say of one animal in one enclosure; of a group or culture they say nothing."""
    if specimen.kind != SpecimenKind.SINGLE.value:
        return []
    taxon, standing = specimen.taxon, specimen.standing
    return _judge(
        taxon.group, taxon.lifestyle, taxon.size_measure, standing.stage, standing.size_mm,
        enclosure.length_mm, enclosure.width_mm, enclosure.height_mm, enclosure.substrate_mm,
    )  # fmt: skip


def _judge(
    group: str, lifestyle: str, measure: str, stage: str, size: float | None, *sides: float | None
) -> list[Remark]:
    dweller = Dweller(Group(group), Lifestyle(lifestyle or "terrestrial"), Stage(stage), size, measure == "body")
    return fitness.remarks(Box(*sides), dweller)
