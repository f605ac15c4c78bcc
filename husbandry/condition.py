"""How well fed a spider is, by the width of its abdomen against the length of its carapace.

The carapace is hard and changes only with a molt, the abdomen swells and shrinks with food and water. The limits are
assumptions: keepers call an animal well fed when its abdomen is about as wide as the carapace is long and up to half
as wide again, and shrunken when it is clearly the narrower of the two. No study of captive spiders gives limits, so a
number is said with its word, never a diagnosis.
"""

import math
from dataclasses import dataclass

from collection.stages import Group, Term

SHRUNKEN_BELOW, LEAN_BELOW, FULL_FROM, SWOLLEN_FROM = 0.7, 0.9, 1.5, 2.0
PLAUSIBLE = (0.2, 4.0)
GROUPS = (Group.TARANTULA, Group.TRUE_SPIDER)  # whose carapace and abdomen are measured
BASIS = "limits are assumptions: common practice knows no measured ones"


class Body(Term):
    """How well fed, in a word."""

    SHRUNKEN = "shrunken"
    LEAN = "lean"
    WELL_FED = "well_fed"
    FULL = "full"
    SWOLLEN = "swollen", "very full"
    UNKNOWN = "unknown", "not known"


@dataclass(frozen=True)
class Condition:
    """The ratio, the word, and a sentence with its limits."""

    ratio: float | None
    body: Body
    sentence: str

    @property
    def thin(self) -> bool:
        """Whether it wants water and a look."""
        return self.body is Body.SHRUNKEN


SAYS = {
    Body.SHRUNKEN: "shrunken (below 0.7): fill the dish, look for curled legs, sitting over the water, slowness",
    Body.LEAN: "lean (0.7 to 0.9)",
    Body.WELL_FED: "well fed (0.9 to 1.5)",
    Body.FULL: "full (1.5 to 2.0)",
    Body.SWOLLEN: "very full (from 2.0): a fall is dangerous, and less food does no harm",
}


def body_condition(group: Group, carapace_mm: float | None, abdomen_mm: float | None) -> Condition:
    """Return how well fed an animal is; lengths in mm, carapace length and abdomen width of about the same day.

    Unknown for groups that are not measured so, without both measures, and for ratios below 0.2 or above 4, which are
    slips of the ruler. Errors: ValueError for a length that is not above zero.
    """
    for length in (carapace_mm, abdomen_mm):
        if length is not None and not 0 < length < math.inf:
            raise ValueError("A length must be a number of millimetres above zero.")
    if group not in GROUPS:
        return Condition(None, Body.UNKNOWN, "Not judged by its abdomen in this group.")
    if carapace_mm is None or abdomen_mm is None:
        return Condition(None, Body.UNKNOWN, "Carapace and abdomen are not both measured.")
    ratio = round(abdomen_mm / carapace_mm, 2)
    if not PLAUSIBLE[0] <= ratio <= PLAUSIBLE[1]:
        return Condition(ratio, Body.UNKNOWN, f"An abdomen {ratio:g} times the carapace: one of the two is a slip.")
    steps = ((SHRUNKEN_BELOW, Body.SHRUNKEN), (LEAN_BELOW, Body.LEAN), (FULL_FROM, Body.WELL_FED))
    body = next((word for below, word in (*steps, (SWOLLEN_FROM, Body.FULL)) if ratio < below), Body.SWOLLEN)
    return Condition(ratio, body, f"Abdomen {ratio:g} times the carapace: {SAYS[body]}.")
