"""When the climate of a sensor is an alarm, and when no longer: a small machine with patience in both directions.

A reading outside the band starts a clock. Outside for `patience` seconds on end, it is an alarm. The alarm is over
after as long a time back inside by a margin, so that air that hovers at the limit does not ring all night. Silence is
an alarm once a reading is overdue, and over with the second reading in a row that comes in time. Instants are seconds
since 1970 in UTC, and come in order; what is older than the last one changes nothing.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from husbandry.bands import Band

MARGINS = {"celsius": 0.5, "humidity": 2.0}  # assumption: so far back inside counts as back inside
PATIENCE = 30 * 60  # seconds; assumption: an open door is not an alarm
STEADY = 2  # readings in time, one after the other, that end a silence


class Side(StrEnum):
    """Where a value lies."""

    INSIDE = "inside"
    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True)
class Watch:
    """What is known of one quantity of one sensor. `since` is when the present side, or the way back, began."""

    side: Side = Side.INSIDE
    since: int | None = None  # when it went outside; None inside
    back: int | None = None  # when it came back inside by the margin, while the alarm still holds
    rung: bool = False  # whether it is an alarm
    last: int | None = None  # the newest reading taken into account

    @property
    def calm(self) -> bool:
        """Nothing outside, nothing to wait for."""
        return self.since is None and not self.rung


def side_of(value: float, band: Band) -> Side:
    """Where the value lies; an end of the band belongs to it."""
    if band.high is not None and value > band.high:
        return Side.ABOVE
    if band.low is not None and value < band.low:
        return Side.BELOW
    return Side.INSIDE


def way_back(band: Band, side: Side, margin: float) -> float | None:
    """The value at which what was outside counts as back: inside by the margin, never by more than a third of a band.

    None where a band no longer holds anybody outside.
    """
    if band.low is not None and band.high is not None:
        margin = min(margin, (band.high - band.low) / 3)
    if side is Side.ABOVE:
        return None if band.high is None else band.high - margin
    return None if band.low is None else band.low + margin


def well_inside(value: float, band: Band, side: Side, margin: float) -> bool:
    """Whether it has come back by the margin from the side on which it was outside."""
    limit = way_back(band, side, margin)
    if limit is None:
        return True
    return value <= limit if side is Side.ABOVE else value >= limit


def step(watch: Watch, at: int, value: float, band: Band, margin: float, patience: int = PATIENCE) -> Watch:
    """What is known after one more reading."""
    if watch.last is not None and at <= watch.last:
        return watch
    side = side_of(value, band)
    if side is not Side.INSIDE:
        same = side is watch.side and watch.since is not None
        since = watch.since if same and watch.since is not None else at
        rung = watch.rung if same else False
        return Watch(side, since, None, rung or at - since >= patience, at)
    if not watch.rung:
        return Watch(last=at)
    if not well_inside(value, band, watch.side, margin):
        return replace(watch, back=None, last=at)
    back = watch.back if watch.back is not None else at
    return Watch(last=at) if at - back >= patience else replace(watch, back=back, last=at)


@dataclass(frozen=True)
class Pulse:
    """How a sensor is heard: its last reading, since when it speaks in time again, and how many readings that is."""

    last: int | None = None
    steady: int = 0
    silent_from: int | None = None  # the last reading before a silence that is not over yet


def beat(pulse: Pulse, at: int, overdue: int) -> Pulse:
    """After one more reading, where a reading is missed after `overdue` seconds."""
    if pulse.last is None:
        return Pulse(at, STEADY, None)
    if at <= pulse.last:
        return pulse
    if at - pulse.last > overdue:
        return Pulse(at, 1, pulse.silent_from if pulse.silent_from is not None else pulse.last)
    steady = min(pulse.steady + 1, STEADY)
    return Pulse(at, steady, None if steady >= STEADY else pulse.silent_from)


def silent_since(pulse: Pulse, now: int, overdue: int, posted: int) -> int | None:
    """Since when nothing proper is heard of a sensor, or None while all is well.

    A sensor that never spoke counts from when it was put up (`posted`).
    """
    if pulse.last is None:
        return posted if now - posted > overdue else None
    if now - pulse.last > overdue:
        return pulse.silent_from if pulse.silent_from is not None else pulse.last
    return pulse.silent_from
