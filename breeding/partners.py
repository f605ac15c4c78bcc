"""Who an animal could meet: animals of its taxon and of the other sex that are here, each with its readiness."""

from __future__ import annotations

from datetime import date

from breeding import before
from breeding.before import Row
from breeding.candidates import FEMALES, MALES
from breeding.readiness import State
from collection.models import Specimen, SpecimenKind
from collection.querysets import HERE

OFFERED = 12


def partners_of(specimen: Specimen, today: date) -> list[Row]:
    """The likely partners, those that are ready first."""
    wanted = FEMALES if specimen.standing.probably_male else MALES
    near = Specimen.objects.filter(taxon=specimen.taxon_id, kind=SpecimenKind.SINGLE.value)
    near = near.filter(standing__sex__in=wanted, standing__status__in=HERE).exclude(pk=specimen.pk)
    found = before.rows(near.order_by("code")[:OFFERED], today)
    return sorted(found, key=lambda row: (row.readiness.state is not State.MET, row.specimen.code))
