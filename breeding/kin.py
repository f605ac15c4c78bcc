"""From rows to pedigrees: whose young an animal is, what is stored of its descent, and who its line is.

`Kin` rows are written here and nowhere else. An animal's inbreeding coefficient follows from its ancestors alone, so a
change of parents moves the animal, its sac-mates and their descendants; everybody else keeps the number on file.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.db import transaction

from breeding.kinship import Animal, Pedigree
from breeding.kinship.animals import CLONAL, SLACK, Sire
from breeding.models import Kin, PossibleSire
from breeding.relations import Relative
from collection import attention, receipts
from collection.dues import chunks
from collection.models import Specimen
from collection.querysets import SpecimenQuerySet
from collection.services import Refused, refuse_parents

COLUMNS = (
    "pk", "code", "dam_id", "sire_id", "clutch", "taxon_id", "taxon__parthenogenetic", "standing__sex", "fatherless",
)  # fmt: skip
WORDS = {"female": "female", "probably_female": "female", "male": "male", "probably_male": "male"}


@dataclass(frozen=True)
class Row:
    """What the records say of one animal's descent."""

    pk: int
    code: str
    dam: int | None
    sire: int | None
    clutch: str
    taxon: int
    parthenogenetic: bool
    sex: str
    possible: tuple[tuple[int, float], ...] = ()
    fatherless: bool | None = None  # None: as usual for the taxon

    @property
    def sac(self) -> str | None:
        """The sac it came out of: the keeper's word for it, under its dam or else its taxon."""
        word = self.clutch.strip()
        return f"{self.dam or f'taxon {self.taxon}'}/{word}" if word else None

    @property
    def clonal(self) -> bool:
        """Young without a male are taken as copies of their dam (an assumption): said of their sac, or of the taxon."""
        alone = self.parthenogenetic if self.fatherless is None else self.fatherless
        return alone and self.dam is not None and self.sire is None and not self.possible

    @property
    def sires(self) -> Sire:
        """The sire, or the males that may be it."""
        return self.sire if self.sire is not None else dict(self.possible) or None

    @property
    def parents(self) -> list[int]:
        """Everybody who is or may be a parent."""
        return [pk for pk in (self.dam, self.sire, *(male for male, _ in self.possible)) if pk is not None]

    @property
    def basis(self) -> str:
        """From what its kinship is worked out."""
        males = ",".join(f"{male}:{chance:.6g}" for male, chance in self.possible)
        return f"{self.dam or ''}|{self.sire or ''}|{self.sac or ''}|{males}|{CLONAL if self.clonal else ''}"[:400]

    def as_animal(self) -> Animal:
        """For the pedigree."""
        return Animal(self.pk, self.dam, self.sires, self.sac, CLONAL if self.clonal else "")

    def as_relative(self) -> Relative:
        """For the words."""
        return Relative(self.dam, self.sire, WORDS.get(self.sex, ""), self.sac, self.clonal)


@dataclass
class Family:
    """Animals with all their known ancestors."""

    rows: dict[int, Row]
    filed: Mapping[int, float] = field(default_factory=dict)  # inbreeding coefficients on file

    @cached_property
    def pedigree(self) -> Pedigree:
        """Their pedigree; coefficients on file are taken as they are."""
        few_new = len(self.filed) * 2 >= len(self.rows)  # else all at once is faster than one by one
        return _pedigree(self.rows, self.filed if few_new else None)

    @cached_property
    def relatives(self) -> dict[int, Relative]:
        """The same for the words of a relation."""
        return {pk: row.as_relative() for pk, row in self.rows.items()}


def _pedigree(rows: Mapping[int, Row], filed: Mapping[int, float] | None = None) -> Pedigree:
    try:
        return Pedigree((row.as_animal() for row in rows.values()), known=filed)
    except ValueError:
        raise Refused("With these parents somebody would be its own ancestor.") from None


def family(ids: Iterable[int], *, filed: bool = True) -> Family:
    """These animals and their ancestors, two to four queries a generation."""
    rows: dict[int, Row] = {}
    wanted = set(ids)
    while wanted:
        found = _rows(sorted(wanted))
        rows.update(found)
        mates = _mates_with_parents(found.values(), rows.keys())
        rows.update(mates)
        wanted = {pk for row in (*found.values(), *mates.values()) for pk in row.parents} - rows.keys()
    return Family(rows, _filed(rows) if filed else {})


def _rows(ids: Sequence[int]) -> dict[int, Row]:
    possible = _possible(ids)
    found = {}
    for part in chunks(ids):
        for values in Specimen.objects.filter(pk__in=part).order_by("pk").values_list(*COLUMNS):
            found[values[0]] = _row(values, possible)
    return found


def _row(values: tuple[Any, ...], possible: Mapping[int, tuple[tuple[int, float], ...]]) -> Row:
    pk, code, dam, sire, clutch, taxon, alone, sex, fatherless = values
    return Row(pk, code, dam, sire, clutch, taxon, alone, sex or "", possible.get(pk, ()), fatherless)


def _possible(ids: Sequence[int] | None) -> dict[int, tuple[tuple[int, float], ...]]:
    """The possible sires of these animals, or of all."""
    found: dict[int, list[tuple[int, float]]] = defaultdict(list)
    parts = [None] if ids is None else chunks(ids)
    for part in parts:
        named = PossibleSire.objects.all() if part is None else PossibleSire.objects.filter(young__in=part)
        for young, male, chance in named.order_by("male_id").values_list("young_id", "male_id", "chance"):
            found[young].append((male, chance))
    return {young: tuple(males) for young, males in found.items()}


def _mates_with_parents(rows: Iterable[Row], known: Iterable[int]) -> dict[int, Row]:
    """Sac-mates that name a sire where these animals name none: they speak for the whole sac."""
    silent = {row.sac: row.clutch for row in rows if row.sac is not None and not row.sires}
    if not silent:
        return {}
    words = set(silent.values())
    named = Specimen.objects.filter(clutch__in=words).exclude(pk__in=list(known))
    ids = [*named.filter(sire__isnull=False).values_list("pk", flat=True)]
    ids += named.filter(possible_sires__isnull=False).distinct().values_list("pk", flat=True)
    return {pk: row for pk, row in _rows(ids).items() if row.sac in silent}


def _filed(rows: Mapping[int, Row]) -> dict[int, float]:
    """Coefficients on file that were worked out from the parents of now."""
    filed: dict[int, float] = {}
    for part in chunks(rows):
        for kin in Kin.objects.filter(pk__in=part):
            if kin.basis == rows[kin.pk].basis:
                filed[kin.pk] = kin.inbreeding
    return filed


@attention.derives("kin")
def refresh(ids: Sequence[int] | None) -> None:
    """Make the stored kinship right for these animals and all that descend from them; None: for everybody, anew."""
    if ids is None:
        everybody = _everybody()
        Kin.objects.exclude(specimen__in=Specimen.objects.all()).delete()
        _store(Family(everybody), everybody, _pedigree(everybody))
        return
    rows = _rows(ids)
    stored = {pk: basis for part in chunks(rows) for pk, basis in _bases(part)}
    changed = [pk for pk, row in rows.items() if stored.get(pk) != row.basis]
    if changed:
        moved = _moved(changed, stored)
        known = family(moved)
        known.filed = {pk: value for pk, value in known.filed.items() if pk not in moved}
        _store(known, moved, known.pedigree)


def _bases(part: Sequence[int]) -> list[tuple[int, str]]:
    return list(Kin.objects.filter(pk__in=part).values_list("pk", "basis"))


def _everybody() -> dict[int, Row]:
    possible = _possible(None)
    found = Specimen.objects.order_by("pk").values_list(*COLUMNS)
    return {values[0]: _row(values, possible) for values in found.iterator()}


def _moved(changed: Sequence[int], stored: Mapping[int, str]) -> set[int]:
    """Those whose parents changed, their sac-mates of now and before, and everybody who descends from them."""
    moved: set[int] = set()
    wanted = set(changed) | _sac_mates(changed, stored)
    while wanted:
        moved |= wanted
        found: set[int] = set()
        for part in chunks(sorted(wanted)):
            found.update(Specimen.objects.filter(dam__in=part).values_list("pk", flat=True))
            found.update(Specimen.objects.filter(sire__in=part).values_list("pk", flat=True))
            found.update(PossibleSire.objects.filter(male__in=part).values_list("young_id", flat=True))
        wanted = (found | _sac_mates(sorted(found), {})) - moved
    return moved


def _sac_mates(ids: Sequence[int], stored: Mapping[int, str]) -> set[int]:
    """Everybody of the same sacs, by what stands now and by what was on file."""
    sacs = {row.sac for row in _rows(ids).values()} | {basis.split("|")[2] for basis in stored.values()}
    words = {sac.partition("/")[2] for sac in sacs if sac}
    if not words:
        return set()
    near = Specimen.objects.filter(clutch__in=words).values_list(*COLUMNS)
    rows = (_row(values, {}) for values in near)
    return {row.pk for row in rows if row.sac in sacs}


def mates_of(specimen: Specimen) -> SpecimenQuerySet:
    """Everybody else out of the same sac, by code."""
    if not specimen.clutch.strip():
        return Specimen.objects.none()
    mates = Specimen.objects.filter(clutch=specimen.clutch, dam=specimen.dam_id).exclude(pk=specimen.pk)
    return (mates if specimen.dam_id else mates.filter(taxon=specimen.taxon_id)).order_by("code")


def _store(known: Family, ids: Iterable[int], pedigree: Pedigree) -> None:
    inbreeding, generations = pedigree.inbreeding(), pedigree.generations()
    rows = (
        Kin(specimen_id=pk, inbreeding=inbreeding[pk], generations=generations[pk], basis=known.rows[pk].basis)
        for pk in sorted(ids)
        if pk in known.rows
    )
    Kin.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["specimen"],
        update_fields=["inbreeding", "generations", "basis"],
        batch_size=500,
    )


@receipts.mends("breeding.possiblesire")
def young_of(ids: Sequence[int]) -> list[int]:
    """Whose descent a possible sire that was taken back concerned."""
    was = PossibleSire.history.filter(id__in=ids).values_list("young_id", flat=True)
    return list(set(was))


def name_sires(young: Specimen, males: Sequence[tuple[Specimen, float]]) -> None:
    """Several males may be the sire: each with its chance; what misses to 1 is an unknown male. None: no longer so."""
    if males and young.sire is not None:
        raise Refused(f"{young} has a sire on file, {young.sire}. Take him out of its particulars first.")
    if males and young.fatherless:
        raise Refused(f"{young} is on file as young without a male.", "sires")
    if sum(chance for _, chance in males) > 1 + SLACK:
        raise Refused("The chances add up to more than 100 %.", "sires")
    if len({male.pk for male, _ in males}) < len(males):
        raise Refused("A male is named twice.", "sires")
    below = _moved([young.pk], {})
    for male, chance in males:
        if not 0 < chance <= 1:
            raise Refused(f"The chance of {male} lies between 0 and 100 %.", "sires")
        if male.pk in below:
            raise Refused(f"{male} is a sac-mate of {young} or descends from it.", "sires")
        tried = copy(young)
        tried.sire = male
        refuse_parents(tried)
    with transaction.atomic():
        for row in young.possible_sires.all():
            row.delete()
        for male, chance in males:
            PossibleSire(young=young, male=male, chance=chance).save()
        refresh([young.pk])
        receipts.note(f"Possible sires of {young}", [young.pk])


def say_fatherless(young: Specimen, fatherless: bool | None) -> None:
    """Whether an animal and all of its sac came without a male; None: as usual for the taxon. Kinship follows."""
    brood = [young, *mates_of(young)] if young.clutch.strip() else [young]
    if fatherless:
        if young.dam is None:
            raise Refused(f"{young} has no dam on file whose copy it could be. Enter her first.", "male")
        sired = next((one for one in brood if one.sire_id is not None), None)
        if sired is not None:
            raise Refused(f"{sired} has a sire on file, {sired.sire}; it did not come without a male.", "male")
        if PossibleSire.objects.filter(young__in=brood).exists():
            raise Refused("Males are named that may be the sire. Take them out first.", "male")
    with transaction.atomic():
        for one in brood:
            one.fatherless = fatherless
            one.save(update_fields=["fatherless"])
        refresh([one.pk for one in brood])
        receipts.note(f"Whether {young} and its sac came without a male", [one.pk for one in brood])
