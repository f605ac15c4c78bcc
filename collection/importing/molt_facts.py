"""One molt of a row against the molts on file: the same molt told twice stays one molt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from collection.dates import FuzzyDate
from collection.importing.drafts import Draft
from collection.models import Molt, Numbering, Specimen
from collection.spreadsheets.lifestages import StageReading


def instar_values(reading: StageReading | None) -> dict[str, Any]:
    """The columns of a molt that an instar fills; a bare number is taken as the trade's i-number."""
    if reading is None or not reading.instar or reading.convention == "N":
        return {}
    numbering = Numbering.L if reading.convention == "L" else Numbering.I
    return {"instar": reading.instar, "numbering": numbering.value}


@dataclass
class MoltsOf:
    """The molts of one animal: on file, and as earlier rows of the same file tell them."""

    on_file: list[Molt] = field(default_factory=list)
    told: list[tuple[FuzzyDate, dict[str, Any]]] = field(default_factory=list)

    def write(self, draft: Draft, specimen: Specimen, when: FuzzyDate, values: dict[str, Any]) -> Molt | None:
        """A new molt, or the one on file that it must be: completed, and dated more closely when the row knows better.

        None when an earlier row of the same file tells of the same molt.
        """
        for earlier, told in self.told:
            if _overlap(earlier, when):
                _against_earlier_row(draft, earlier == when and told == values, earlier)
                return None
        self.told.append((when, values))
        near = [molt for molt in self.on_file if _overlap(molt.when, when)]
        known = next((molt for molt in near if molt.when == when), near[0] if near else None)
        if known is None:
            molt = Molt(specimen=specimen, earliest=when.earliest, latest=when.latest, **values)
            draft.create(molt, f"molt {when}{_to_instar(molt)}")
            return molt
        draft.known = True
        if when.days < known.when.days:
            draft.redate(known, "", when, "molt")
        if known.instar is not None and known.instar == values.get("instar"):
            values = {name: value for name, value in values.items() if name != "numbering"}
        draft.change(known, values)
        return known


def _to_instar(molt: Molt) -> str:
    if molt.instar is None:
        return ""
    return f" to L{molt.instar}" if molt.numbering == Numbering.L else f" to {molt.instar}{molt.numbering}"


def _against_earlier_row(draft: Draft, same: bool, earlier: FuzzyDate) -> None:
    draft.known = True
    if same:
        draft.say("an earlier row tells of the same molt")
    else:
        draft.refuse(f"An earlier row gives a molt of {earlier}, which must be this one. Keep one of the two.")


def _overlap(one: FuzzyDate, other: FuzzyDate) -> bool:
    return one.earliest <= other.latest and other.earliest <= one.latest
