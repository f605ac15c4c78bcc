"""What was and is wrong in the invented collection, who is kept apart, and what died inside a group."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from collection.models import (
    Arrival,
    Contact,
    HeadLoss,
    HealthEntry,
    HealthIssue,
    Note,
    Quarantine,
    QuarantineCheck,
    Specimen,
)
from husbandry.models import ExposureCheck

if TYPE_CHECKING:
    from config.demo.load import Builder

VET = ("Animal practice by the mill", "Sees spiders on Tuesdays; ring first.")
CLEAR = {"body": "clear", "limbs": "clear", "mites": "clear", "mouth": "clear", "faeces": "clear"}


def build(builder: Builder) -> None:
    """Everything about health."""
    [vet] = builder.keep([Contact(name=VET[0], note=VET[1], vet=True)])
    _dry(builder, vet)
    _mites(builder)
    _asked(builder)
    _apart(builder)
    builder.keep(
        [HeadLoss(specimen=animal(builder, "P-003"), number=2, cause="sibling", **on(builder, 64), post_mortem=FOUND)]
    )


FOUND = "Two empty skins under the cork, legs only; the others fat."


def animal(builder: Builder, code: str) -> Specimen:
    """An invented animal by its code."""
    return builder.made[code].specimen


def on(builder: Builder, days: int) -> dict[str, date]:
    """A day as a dated record has it."""
    return {"earliest": builder.ago(days), "latest": builder.ago(days)}


def _look(builder: Builder, issue: HealthIssue, days: int, course: str, seen: str, **values: Any) -> HealthEntry:
    return HealthEntry(issue=issue, course=course, seen=seen, **on(builder, days), **values)


def _dry(builder: Builder, vet: Contact) -> None:
    """Dehydration, followed day by day, and over."""
    rows = HealthIssue(
        specimen=animal(builder, "X-001"),
        kind="dry",
        sure=True,
        seen="Sits over an empty dish, abdomen shrunken; the dish had a crack.",
        vet=vet,
        closed_on=builder.ago(81),
        outcome="resolved",
        outcome_note="New dish; full abdomen again.",
        **on(builder, 86),
    )
    [issue] = builder.keep([rows])
    builder.keep(
        [
            _look(builder, issue, 85, "same", "Drank for half an hour.", mass_g=11.2),
            _look(builder, issue, 84, "better", "Abdomen rounder, walks again.", mass_g=12.4),
            _look(builder, issue, 81, "better", "As before.", mass_g=13.1, abdomen_mm=21),
        ]
    )


def _mites(builder: Builder) -> None:
    """A suspicion that is open: its shelf is marked, one neighbour was looked at."""
    where = animal(builder, "D-001")
    [issue] = builder.keep(
        [HealthIssue(specimen=where, kind="mites", seen="Pale specks on the cork and at the dish.", **on(builder, 6))]
    )
    builder.keep([_look(builder, issue, 3, "same", "Three on the carapace; leftovers taken out.")])
    builder.keep(
        [Note(specimen=where, text="Something white moves at the dish.", wrong=True, signs=["specks"], issue=issue,
              **on(builder, 6))]
    )  # fmt: skip
    builder.keep(
        [ExposureCheck(issue=issue, specimen=animal(builder, "T-003"), on=builder.ago(2), found="clear", note="loupe")]
    )


def _asked(builder: Builder) -> None:
    """What the helper saw this morning, and nobody has answered."""
    text = "Over the dish since this morning."
    builder.keep(
        [Note(specimen=animal(builder, "C-004"), text=text, wrong=True, signs=["dish", "slow"], **on(builder, 0))]
    )


def _apart(builder: Builder) -> None:
    """Two arrivals: one on its own shelf with its looks, one that came the other day and stands among the others."""
    shelved, fresh = animal(builder, "O-002"), animal(builder, "H-002")
    box = Arrival.objects.get(specimens=fresh)
    rows = [
        Quarantine(specimen=shelved, begins=builder.ago(20), until=builder.ago(20) + timedelta(days=30)),
        Quarantine(specimen=fresh, arrival=box, begins=box.on, until=box.on + timedelta(days=box.quarantine_days or 0)),
    ]
    first, _ = builder.keep(rows)
    builder.keep(
        QuarantineCheck(quarantine=first, findings=findings, note=note, **on(builder, days))
        for days, findings, note in (
            (19, CLEAR | {"faeces": "doubtful"}, "first droppings soft"),
            (12, CLEAR, ""),
            (6, {"mites": "clear", "mouth": "clear"}, "stayed in the burrow"),
        )
    )
