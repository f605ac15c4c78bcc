"""A stretch of readings, weighed by time: means, hours outside a band, day and night apart, and gaps left as gaps.

Between two readings the value is taken to run straight, unless they lie further apart than `longest`: then the time
between them is a gap, of which nothing is said. So a hundred readings in one hour weigh as much as two. Instants are
seconds since 1970 in UTC. numpy is imported where it is needed: a page without climate does not pay for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from husbandry.bands import Band
from husbandry.calibration import NONE, Correction
from husbandry.humidity import SONNTAG, ZERO_CELSIUS

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, np.dtype[Any]]

HOUR = 3600


@dataclass(frozen=True)
class Light:
    """When the lights of a place go on and off, as hours of the day on the wall clock."""

    on: int = 8
    off: int = 20

    def __post_init__(self) -> None:
        if not (0 <= self.on <= 23 and 0 <= self.off <= 24 and self.on < self.off):
            raise ValueError("The lights go on before they go off, within one day.")


@dataclass(frozen=True)
class Stretch:
    """One quantity over some time: mean, extremes, seconds covered by readings, seconds above and below the band."""

    mean: float | None = None
    lowest: float | None = None
    highest: float | None = None
    covered: float = 0.0
    above: float = 0.0
    below: float = 0.0

    @property
    def outside(self) -> float:
        """Seconds outside the band."""
        return self.above + self.below


@dataclass(frozen=True)
class Part:
    """One bucket of time with its day, its night, and both together."""

    begins: int
    ends: int
    whole: Stretch
    day: Stretch
    night: Stretch


@dataclass(frozen=True)
class Track:
    """One quantity from `begins` to `ends`: bucket by bucket, and readings too far from any other to weigh."""

    begins: int
    ends: int
    parts: tuple[Part, ...]
    whole: Stretch
    day: Stretch
    night: Stretch
    lone: tuple[tuple[int, float], ...] = ()

    @property
    def uncovered(self) -> float:
        """Seconds of which no reading tells."""
        return self.ends - self.begins - self.whole.covered


@dataclass(frozen=True)
class Nights:
    """Where day and night meet: `cuts` are instants, `dark[i]` says whether it is night before `cuts[i]`."""

    cuts: tuple[int, ...]
    dark: tuple[bool, ...]


def nights(begins: int, ends: int, light: Light, zone: ZoneInfo) -> Nights:
    """Day and night between two instants, on the wall clock of `zone`, summer time included."""
    cuts: list[int] = []
    dark: list[bool] = []
    day = datetime.fromtimestamp(begins, zone).date() - timedelta(days=1)
    last = datetime.fromtimestamp(ends, zone).date() + timedelta(days=1)
    while day <= last:
        off = day + timedelta(days=light.off // 24)
        moments = ((day, light.on, True), (off, light.off % 24, False))
        for on_day, hour, was_dark in moments:
            cuts.append(int(datetime.combine(on_day, time(hour), zone).timestamp()))
            dark.append(was_dark)
        day += timedelta(days=1)
    return Nights(tuple(cuts), tuple(dark))


def corrected(
    at: Sequence[int] | Array,
    shown: Sequence[float | None],
    since: Sequence[int],
    corrections: Sequence[Correction],
) -> tuple[Array, Array]:
    """Humidity in per cent and its ±, each reading by the correction in force at its time (`since`, ascending).

    A reading that is None stays unknown (NaN). Errors: ValueError when the two sequences of corrections differ.
    """
    import numpy as np

    if len(since) != len(corrections):
        raise ValueError("Each correction needs the instant from which it holds.")
    values = np.array([np.nan if one is None else one for one in shown], dtype=float)
    which = np.searchsorted(np.asarray(since, dtype=np.int64), np.asarray(at, dtype=np.int64), side="right")
    true, plus_minus = np.full(len(values), np.nan), np.full(len(values), np.nan)
    for number, correction in enumerate([NONE, *corrections]):
        mine = which == number
        if mine.any():
            true[mine] = np.clip(correction.gain * values[mine] + correction.offset, 0, 100)
            plus_minus[mine] = _plus_minus(correction, values[mine])
    return true, plus_minus


def _plus_minus(correction: Correction, shown: Array) -> Array:
    """The uncertainty of a few shown values, drawn out straight between them: it is smooth and costly to ask for."""
    import numpy as np

    grid = np.arange(0, 101, 1.0)
    known = [correction.uncertainty(float(value)) for value in grid]
    return np.interp(shown, grid, known)


def deficits(celsius: Array, humidity: Array, plus_minus: Array) -> tuple[Array, Array, Array]:
    """Vapour pressure deficit in kPa with its lower and upper limit, from the humidity and its ±."""
    import numpy as np

    kelvin = np.asarray(celsius, dtype=float) + ZERO_CELSIUS
    a, b, c, d, e = SONNTAG
    full = np.exp(a / kelvin + b + c * kelvin + d * kelvin**2 + e * np.log(kelvin)) / 1000
    parts = [1 - np.clip(humidity + sign * plus_minus, 0, 100) / 100 for sign in (0, 1, -1)]
    return full * parts[0], full * parts[1], full * parts[2]


@dataclass(frozen=True)
class _Pieces:
    """Straight runs of a value: from, to, first and last value; none crosses a cut, none bridges a gap."""

    begins: Array
    ends: Array
    first: Array
    last: Array


def _merged(one: Array, other: Array) -> Array:
    """Both in order, each value once. Two runs that ascend are merged in a fraction of what numpy's union takes."""
    import numpy as np

    both = np.sort(np.concatenate([one, other]), kind="stable")
    new = np.ones(len(both), dtype=bool)
    new[1:] = both[1:] != both[:-1]
    return both[new]


def _pieces(at: Array, value: Array, cuts: Array, longest: int) -> _Pieces:
    import numpy as np

    merged = _merged(at, cuts[(cuts > at[0]) & (cuts < at[-1])])
    run = np.interp(merged, at, value)
    before = np.clip(np.searchsorted(at, merged[:-1], side="right") - 1, 0, len(at) - 2)
    near = at[before + 1] - at[before] <= longest
    return _Pieces(merged[:-1][near], merged[1:][near], run[:-1][near], run[1:][near])


def track(
    at: Sequence[int] | Array,
    values: Sequence[float] | Array,
    edges: Sequence[int],
    dark: Nights,
    longest: int,
    band: Band,
    night_band: Band | None = None,
) -> Track:
    """Weigh one quantity between the first and the last of `edges`, bucket by bucket.

    `at` ascends without repeats; unknown values (NaN) are passed over. Readings from before the first edge and after
    the last one are welcome: without them the ends would look like gaps.
    """
    import numpy as np

    instants, known = np.asarray(at, dtype=np.int64), np.asarray(values, dtype=float)
    told = ~np.isnan(known)
    instants, known = instants[told], known[told]
    bounds = np.asarray(edges, dtype=np.int64)
    begins, ends = int(bounds[0]), int(bounds[-1])
    lone = _lone(instants, known, longest, begins, ends)
    if len(instants) < 2:
        return _without(bounds, lone)
    cuts = _merged(bounds, np.asarray(dark.cuts, dtype=np.int64))
    pieces = _pieces(instants, known, cuts, longest)
    weighed = _Weighed(pieces, bounds, dark, band, night_band or band)
    limits = bounds.tolist()
    parts = tuple(
        Part(first, last, *found) for first, last, found in zip(limits, limits[1:], weighed.of_buckets(), strict=False)
    )
    return Track(begins, ends, parts, *weighed.of_all(), lone)


def _without(bounds: Array, lone: tuple[tuple[int, float], ...]) -> Track:
    nothing = Stretch()
    parts = tuple(Part(int(bounds[i]), int(bounds[i + 1]), nothing, nothing, nothing) for i in range(len(bounds) - 1))
    return Track(int(bounds[0]), int(bounds[-1]), parts, nothing, nothing, nothing, lone)


def _lone(at: Array, value: Array, longest: int, begins: int, ends: int) -> tuple[tuple[int, float], ...]:
    """Readings with a gap on either side: they are shown as points, and weigh nothing."""
    import numpy as np

    apart = np.diff(at) > longest
    alone = np.concatenate([[True], apart]) & np.concatenate([apart, [True]])
    shown = alone & (at >= begins) & (at <= ends) if len(at) else np.zeros(0, dtype=bool)
    return tuple((int(when), float(what)) for when, what in zip(at[shown], value[shown], strict=True))


class _Weighed:
    """Sums over pieces, by bucket and by day (0) and night (1)."""

    def __init__(self, pieces: _Pieces, bounds: Array, dark: Nights, band: Band, night_band: Band) -> None:
        import numpy as np

        middle = (pieces.begins + pieces.ends) / 2
        bucket = np.searchsorted(bounds, middle, side="right") - 1
        inside = (bucket >= 0) & (bucket < len(bounds) - 1)
        night = self._is_night(middle, dark)
        self.count = len(bounds) - 1
        self.key = (2 * bucket + night)[inside]
        first, last = pieces.first[inside], pieces.last[inside]
        seconds = (pieces.ends - pieces.begins)[inside].astype(float)
        by_night = night[inside] == 1
        above = np.where(by_night, _share_above(first, last, night_band.high), _share_above(first, last, band.high))
        below = np.where(by_night, _share_below(first, last, night_band.low), _share_below(first, last, band.low))
        self.sums = [
            self._sum(what) for what in (seconds, seconds * (first + last) / 2, seconds * above, seconds * below)
        ]
        self.low, self.high = np.full(2 * self.count, np.inf), np.full(2 * self.count, -np.inf)
        np.minimum.at(self.low, self.key, np.minimum(first, last))
        np.maximum.at(self.high, self.key, np.maximum(first, last))

    @staticmethod
    def _is_night(middle: Array, dark: Nights) -> Array:
        import numpy as np

        place = np.searchsorted(np.asarray(dark.cuts), middle, side="right")
        flags = np.asarray([*dark.dark, False], dtype=np.int64)
        return flags[np.minimum(place, len(flags) - 1)]

    def _sum(self, what: Array) -> Array:
        import numpy as np

        return np.bincount(self.key, weights=what, minlength=2 * self.count)

    def of_buckets(self) -> list[tuple[Stretch, Stretch, Stretch]]:
        """Whole, day and night of each bucket."""
        apart = self._stretches(self.sums, self.low, self.high)
        pairs = [sums.reshape(-1, 2).sum(axis=1) for sums in self.sums]
        whole = self._stretches(pairs, self.low.reshape(-1, 2).min(axis=1), self.high.reshape(-1, 2).max(axis=1))
        return list(zip(whole, apart[0::2], apart[1::2], strict=True))

    def of_all(self) -> tuple[Stretch, Stretch, Stretch]:
        """Whole, day and night of everything."""
        apart = [sums.reshape(-1, 2).sum(axis=0) for sums in self.sums]
        low, high = self.low.reshape(-1, 2).min(axis=0), self.high.reshape(-1, 2).max(axis=0)
        day, night = self._stretches(apart, low, high)
        [whole] = self._stretches(
            [sums.sum(keepdims=True) for sums in apart], low.min(keepdims=True), high.max(keepdims=True)
        )
        return whole, day, night

    @staticmethod
    def _stretches(sums: Sequence[Array], low: Array, high: Array) -> list[Stretch]:
        """Sums over buckets as stretches: all numbers leave numpy at once, one by one would be slow."""
        rows = zip(*(column.tolist() for column in (*sums, low, high)), strict=True)
        return [
            Stretch(min(max(weighted / seconds, least), most), least, most, seconds, above, below)
            if seconds > 0
            else Stretch()
            for seconds, weighted, above, below, least, most in rows
        ]


def _share_above(first: Array, last: Array, limit: float | None) -> Array:
    """Which share of a straight run lies above the limit; lying on it is inside."""
    import numpy as np

    if limit is None:
        return np.zeros(len(first))
    low, high = np.minimum(first, last), np.maximum(first, last)
    span = np.where(high > low, high - low, 1)
    return np.where(high > low, np.clip((high - limit) / span, 0, 1), high > limit)


def _share_below(first: Array, last: Array, limit: float | None) -> Array:
    return _share_above(-first, -last, None if limit is None else -limit)


def edges(begins: int, ends: int, step: int) -> list[int]:
    """Bucket edges from one instant to another, `step` seconds apart; the last bucket may be shorter.

    Errors: ValueError when time would not run forward.
    """
    if step <= 0 or ends <= begins:
        raise ValueError("A stretch of time must end after it begins.")
    return [*range(begins, ends, step), ends]


def calendar_edges(begins: datetime, ends: datetime, *, months: bool = False) -> list[int]:
    """Edges at every midnight, or at the first of every month, on the wall clock that `begins` carries."""
    found = [int(begins.timestamp())]
    midnight = begins.replace(hour=0, minute=0, second=0, microsecond=0, fold=0)
    if months:
        midnight = midnight.replace(day=1)
    while True:
        following = (midnight + timedelta(days=32)).replace(day=1) if months else midnight + timedelta(days=1)
        midnight = following
        if midnight >= ends:
            return [*found, int(ends.timestamp())]
        found.append(int(midnight.timestamp()))
