"""What came out of the fern's sac and who got it, looks into the incubator, and animals on loan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from breeding.models import BroodMember, BroodShare, EggSac, Loan, SacCheck
from collection.models import Departure, GroupCount, Specimen

if TYPE_CHECKING:
    from config.demo.load import Builder

OWNER, LENDER, BUYER = 0, 1, 3  # rows of the contacts: the owner of the first male, who lends, who took the rest
SHARED, SOLD = 90, 60  # of 180; thirty stay in the tray
LOOKS = ((18, "turned", 26.4, 82), (14, "turned", 26.6, 84), (10, "legs", 26.5, 80), (6, "fine", 26.8, 83))
LENT = (("C-006", 4, -56, 50), ("T-005", 158, 150, 50))  # code, since, back by or back since, share


def build(builder: Builder) -> None:
    """After the tray has been filled."""
    first = EggSac.objects.get(female=builder.made["T-001"].specimen, outcome="hatched")
    _share_out(builder, first)
    kept = EggSac.objects.get(female=builder.made["C-001"].specimen)
    builder.keep(
        SacCheck(sac=kept, earliest=builder.ago(d), latest=builder.ago(d), look=look, celsius=warm, humidity=damp)
        for d, look, warm, damp in LOOKS
    )
    builder.keep(_loan(builder, *row) for row in LENT)


def _share_out(builder: Builder, sac: EggSac) -> None:
    """Thirty singles stay, half goes to the owner of the male, the rest is passed on; the books balance."""
    assert sac.ended_on is not None
    tray = list(Specimen.objects.filter(dam=sac.female, code__startswith="S-").order_by("code"))
    owner, buyer = builder.contacts[OWNER], builder.contacts[BUYER]
    builder.keep([BroodShare(sac=sac, to=owner, percent=50, due_on=sac.ended_on, note="As agreed on the phone.")])
    batches = builder.keep(
        [_batch(builder, sac, code, tray[0].clutch) for code in ("OUT-090", "OUT-060")] if tray else []
    )
    sizes = (SHARED, SOLD)
    builder.keep(
        GroupCount(specimen=batch, earliest=sac.ended_on, latest=sac.ended_on, count=heads)
        for batch, heads in zip(batches, sizes, strict=True)
    )
    builder.keep(
        Departure(specimen=batch, kind="passed_on", on=sac.ended_on, contact=to)
        for batch, to in zip(batches, (owner, buyer), strict=True)
    )
    builder.keep(BroodMember(sac=sac, specimen=one, number=1, on=sac.ended_on) for one in tray)
    builder.keep(
        BroodMember(sac=sac, specimen=batch, number=heads, on=sac.ended_on)
        for batch, heads in zip(batches, sizes, strict=True)
    )


def _batch(builder: Builder, sac: EggSac, code: str, clutch: str) -> Specimen:
    assert sac.ended_on is not None
    return Specimen(
        code=code,
        tag=builder.tag(),
        taxon=sac.female.taxon,
        kind="group",
        dam=sac.female,
        clutch=clutch,
        hatched_earliest=sac.ended_on,
        hatched_latest=sac.ended_on,
        acquired_earliest=sac.ended_on,
        acquired_latest=sac.ended_on,
        how="bred",
        origin="C",
        entered_at=builder.evening(sac.ended_on),
    )


def _loan(builder: Builder, code: str, since: int, back: int, percent: float) -> Loan:
    """Both were lent to us; one is still here."""
    return Loan(
        specimen=builder.made[code].specimen,
        way="in",
        contact=builder.contacts[LENDER],
        since=builder.ago(since),
        due_back_on=builder.ago(back),
        ended_on=builder.ago(back) if back > 0 else None,
        percent=percent,
        if_lost="Nothing is owed for a male lost at the meeting.",
    )
