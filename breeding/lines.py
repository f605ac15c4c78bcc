"""Lines: the animals of one taxon and one locality, and what is left of their founders."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from django.db.models import Count, Q, QuerySet

from breeding import kin
from breeding.kin import Family
from breeding.kinship import UnknownParent, effective_size, individual_rate, size_from_rate
from collection.models import Specimen, SpecimenKind, Status, Taxon
from collection.querysets import SpecimenQuerySet

OURS = (Status.HERE.value, Status.LOAN_IN.value, Status.LOAN_OUT.value)  # alive, and to be bred with
MOST = 3_000  # animals of a line that are weighed against each other
SMALL = 2  # a line is told about from so many animals on


@dataclass(frozen=True)
class Founder:
    """One founder of a line and its share of the genes of the living."""

    words: str
    specimen: Specimen | None
    share: float


@dataclass(frozen=True)
class Standing:
    """One living animal in its line."""

    specimen: Specimen
    mean_kinship: float
    inbreeding: float
    generations: float


@dataclass(frozen=True)
class Line:
    """A line as it stands."""

    animals: list[Standing]  # the least related first: whoever carries what others do not
    founders: list[Founder]
    gene_diversity: float
    genome_equivalents: float
    founder_equivalents: float
    mean_inbreeding: float
    breeders: tuple[int, int]  # females and males that have living young in the line
    size: float  # effective, were only they to breed
    realised: float | None  # effective size that the inbreeding of the living tells of


def living(taxon: Taxon, locality: str) -> SpecimenQuerySet:
    """Whom the keeper has, or has lent, of a line."""
    found = Specimen.objects.filter(taxon=taxon, locality=locality, kind=SpecimenKind.SINGLE.value)
    return found.filter(standing__status__in=OURS).order_by("code")


def living_by_line(wanted: Collection[tuple[int, str]]) -> dict[tuple[int, str], list[int]]:
    """Whom the keeper has of several lines, at most `MOST` of each; a locality is told in small letters."""
    ours = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, standing__status__in=OURS)
    found: dict[tuple[int, str], list[int]] = {line: [] for line in sorted(wanted)}
    rows = ours.filter(taxon__in={taxon for taxon, _ in wanted}).order_by("code")
    for pk, taxon, locality in rows.values_list("pk", "taxon_id", "locality"):
        line = found.get((taxon, locality.strip().casefold()))
        if line is not None and len(line) < MOST:
            line.append(pk)
    return found


def known_lines() -> QuerySet[Specimen, Any]:
    """Taxa and localities with the number of animals, the largest first."""
    ours = Specimen.objects.filter(kind=SpecimenKind.SINGLE.value, standing__status__in=OURS)
    counted = ours.values("taxon", "taxon__name", "locality").annotate(
        animals=Count("pk"), bred=Count("pk", filter=Q(dam__isnull=False) | Q(sire__isnull=False))
    )
    return counted.filter(animals__gte=SMALL).order_by("-bred", "-animals", "taxon__name", "locality")


def work_out(animals: Sequence[Specimen]) -> Line:
    """Founders, diversity and standing of these animals, which are one line."""
    ids = [animal.pk for animal in animals]
    family = kin.family(ids)
    pedigree = family.pedigree
    means = pedigree.mean_kinship(ids)
    inbreeding, generations = pedigree.inbreeding(), pedigree.generations()
    shares = pedigree.founder_contributions(ids)
    mean = fmean(means.values())
    rates = [individual_rate(max(inbreeding[pk], 0.0), generations[pk]) for pk in ids]
    known_rates = [rate for rate in rates if rate is not None]
    breeders = _breeders(family, ids)
    return Line(
        animals=sorted(
            (Standing(one, means[one.pk], inbreeding[one.pk], generations[one.pk]) for one in animals),
            key=lambda row: (row.mean_kinship, row.specimen.code),
        ),
        founders=_founders(family, shares),
        gene_diversity=1 - mean,
        genome_equivalents=1 / (2 * mean),
        founder_equivalents=1 / sum(share**2 for share in shares.values()),
        mean_inbreeding=fmean(inbreeding[pk] for pk in ids),
        breeders=breeders,
        size=effective_size(*breeders),
        realised=size_from_rate(fmean(known_rates)) if known_rates else None,
    )


def _breeders(family: Family, ids: Sequence[int]) -> tuple[int, int]:
    rows = [family.rows[pk] for pk in ids]
    dams = {row.dam for row in rows if row.dam is not None}
    return len(dams), len({row.sire for row in rows if row.sire is not None})


def _founders(family: Family, shares: dict[object, float]) -> list[Founder]:
    """The largest share first; strangers after those who have a code."""
    known = Specimen.objects.for_display().in_bulk([one for one in shares if isinstance(one, int)])
    found = []
    for one, share in shares.items():
        specimen = known.get(one) if isinstance(one, int) else None
        found.append(Founder(str(specimen or _words(family, one)), specimen, share))
    return sorted(found, key=lambda founder: (-round(founder.share, 9), founder.specimen is None, founder.words))


def _words(family: Family, one: object) -> str:
    """An unknown parent in a keeper's words, with codes instead of numbers."""
    if not isinstance(one, UnknownParent):
        return str(one)
    if not one.of_clutch:
        row = family.rows.get(one.of) if isinstance(one.of, int) else None
        return f"unknown {one.role} of {row.code if row else one.of}"
    dam, _, word = str(one.of).partition("/")
    row = family.rows.get(int(dam)) if dam.isdigit() else None
    return f"unknown {one.role} of the sac {word}{f' of {row.code}' if row else ''}"
