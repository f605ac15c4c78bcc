"""What must be said of an animal's descent wherever it goes: hybrid, or a sire that is not sure.

It stands on labels, on papers and in exports. Upper apps tell what they know of the sires by registering in `sires`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from collection.models import Specimen

HYBRID = "hybrid"
UNKNOWN_SIRE = "sire not known"
WITHOUT = "young without a male"
sires: dict[str, Callable[[Sequence[int]], Mapping[int, str]]] = {}  # words about the sires of these animals


def notes(ids: Sequence[int]) -> dict[int, str]:
    """The words of those of these animals of whom anything must be said."""
    told: dict[int, str] = {}
    for name in sorted(sires):
        told |= sires[name](ids)
    columns = ("pk", "hybrid", "dam", "sire", "fatherless", "taxon__parthenogenetic")
    found = {}
    for pk, hybrid, dam, sire, fatherless, usual in Specimen.objects.filter(pk__in=ids).values_list(*columns):
        alone = WITHOUT if (usual if fatherless is None else fatherless) else UNKNOWN_SIRE
        sired = told.get(pk, alone if dam is not None or fatherless else "") if sire is None else ""
        words = ", ".join(word for word in (HYBRID if hybrid else "", sired) if word)
        if words:
            found[pk] = words
    return found


def note(specimen: Specimen) -> str:
    """The same of one animal."""
    return notes([specimen.pk]).get(specimen.pk, "")


def crossed(specimen: Specimen, *parents: Specimen | None) -> bool:
    """Whether a parent is a hybrid or of another taxon than its young."""
    return any(one.hybrid or not _one_taxon(one, specimen) for one in parents if one is not None)


def _one_taxon(one: Specimen, other: Specimen) -> bool:
    if one.taxon_id is not None and other.taxon_id is not None:
        return one.taxon_id == other.taxon_id
    return one.taxon is other.taxon  # both new with one import
