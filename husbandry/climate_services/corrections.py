"""From the salt tests on record to the corrections that follow from them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from husbandry import calibration
from husbandry.calibration import Correction
from husbandry.models import Calibration

InForce = tuple[list[int], list[Correction]]  # from which instants on, ascending; and what holds from then


def correction_of(row: Calibration) -> Correction:
    """The correction of one salt test. Errors: ValueError, with a sentence, for a test that cannot be right."""
    if row.salt_2 and row.shown_2 is not None:
        return calibration.two_point(row.shown_1, row.salt_1, row.shown_2, row.salt_2, row.celsius)
    return calibration.one_point(row.shown_1, row.salt_1, row.celsius)


def in_force(sensors: Iterable[int]) -> dict[int, InForce]:
    """The corrections of each sensor through time, in one query; a sensor without a test is not named."""
    found: dict[int, InForce] = defaultdict(lambda: ([], []))
    for row in Calibration.objects.filter(sensor__in=sensors).order_by("since", "id"):
        since, corrections = found[row.sensor_id]
        since.append(int(row.since.timestamp()))
        corrections.append(correction_of(row))
    return dict(found)


def holding(force: InForce | None, at: int) -> Correction:
    """The correction that held at an instant; none before the first test."""
    if force is None:
        return calibration.NONE
    held = [correction for since, correction in zip(*force, strict=True) if since <= at]
    return held[-1] if held else calibration.NONE
