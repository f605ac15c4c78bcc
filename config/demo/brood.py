"""Pairings, signs, sacs and counts of the invented collection."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Any

from breeding.models import EggSac, HeadCount, Meeting, Pairing, Sign, SpermWeb
from collection.models import SexEvidence
from collection.sexing import Finding, Method
from config.demo import pairs
from config.demo.pairs import Pair, Sac

if TYPE_CHECKING:
    from config.demo.load import Builder


def build(builder: Builder) -> None:
    """Everything that came of bringing two animals together."""
    made = builder.keep(_pairing(builder, pair) for pair in pairs.PAIRS)
    builder.keep(
        meeting
        for pair, pairing in zip(pairs.PAIRS, made, strict=True)
        for meeting in _meetings(builder, pair, pairing)
    )
    builder.keep(
        Sign(female=builder.made[c].specimen, earliest=builder.ago(d), latest=builder.ago(d), kind=kind, note=note)
        for c, d, kind, note in pairs.SIGNS
    )
    builder.keep(
        SpermWeb(male=builder.made[code].specimen, earliest=builder.ago(days), latest=builder.ago(days))
        for code, days in pairs.SPERM_WEBS
    )
    sacs = builder.keep(_sac(builder, sac, made) for sac in pairs.SACS)
    builder.keep(_as_evidence(sac) for sac in sacs)
    builder.keep(
        HeadCount(
            sac=sac, earliest=builder.ago(d), latest=builder.ago(d), stage=stage, alive=alive, dead=dead, cause=why
        )
        for row, sac in zip(pairs.SACS, sacs, strict=True)
        for d, stage, alive, dead, why in row.counts
    )


def _pairing(builder: Builder, pair: Pair) -> Pairing:
    male = builder.made[pair.male].specimen if pair.male else None
    known: dict[str, Any] = {"risk_note": pair.watch, "way_out": pair.way_out, "retreat": pair.retreat}
    return Pairing(female=builder.made[pair.female].specimen, male=male, note=pair.note, **known)


def _meetings(builder: Builder, pair: Pair, pairing: Pairing) -> list[Meeting]:
    return [
        Meeting(
            pairing=pairing,
            earliest=builder.ago(days),
            latest=builder.ago(days),
            drumming=None if left is None else True,
            insertions_left=left,
            insertions_right=right,
            ending=ending,
            **_timed(pair, days),
        )
        for days, left, right, ending in pair.meetings
    ]


def _timed(pair: Pair, days: int) -> dict[str, Any]:
    """When the last meeting of a pair began and ended, where somebody stood by with the stopwatch."""
    if pair.began is None or days != pair.meetings[-1][0]:
        return {}
    hour, minute, long = pair.began
    later, end = divmod(minute + long, 60)
    return {"begins_at": time(hour, minute), "ends_at": time(hour + later, end), "celsius": pair.celsius}


def _sac(builder: Builder, sac: Sac, made: list[Pairing]) -> EggSac:
    """A sac belongs to the female's last pairing before it."""
    before = [
        (pair.meetings[-1][0], pairing)
        for pair, pairing in zip(pairs.PAIRS, made, strict=True)
        if pair.female == sac.female and pair.meetings[-1][0] > sac.laid
    ]
    return EggSac(
        female=builder.made[sac.female].specimen,
        pairing=min(before, key=lambda found: found[0])[1],
        earliest=builder.ago(sac.laid),
        latest=builder.ago(sac.laid),
        kind=sac.kind,
        taken_on=builder.ago(sac.taken) if sac.taken is not None else None,
        incubator=sac.incubator,
        celsius=26.5 if sac.incubator else None,
        outcome=sac.outcome,
        ended_on=builder.ago(sac.ended) if sac.ended is not None else None,
        note=sac.note,
    )


def _as_evidence(sac: EggSac) -> SexEvidence:
    return SexEvidence(
        specimen=sac.female,
        earliest=sac.earliest,
        latest=sac.latest,
        method=Method.SAC.value,
        finding=Finding.FEMALE.value,
        note="laid a sac",
    )
