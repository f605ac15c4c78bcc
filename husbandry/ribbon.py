"""Geometry of the climate's ribbon: per cent across, pixels down. Numbers in, numbers and paths out; templates draw.

Only the part outside the band is filled, gaps stay gaps, and readings on their own are points. Paths stand in a box
1000 wide that is stretched to the figure.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from husbandry.bands import Band
from husbandry.climate import Nights, Part, Track

TOP, BOTTOM = 16.0, 6.0
LEVELS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)
LEAST = {"°C": 4.0, "%": 16.0, "kPa": 0.6}  # what a panel spans at least, so that a calm day is not drawn as a storm


@dataclass(frozen=True)
class Scale:
    """From instants and values to places in the figure."""

    begins: int
    ends: int
    low: float
    high: float
    height: float

    def x(self, instant: float) -> float:
        """Thousandths of the width, kept inside."""
        share = (instant - self.begins) / (self.ends - self.begins)
        return round(min(max(share, 0.0), 1.0) * 1000, 1)

    def y(self, value: float) -> float:
        """Pixels from the top, kept inside."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.height - BOTTOM - min(max(share, 0.0), 1.0) * (self.height - TOP - BOTTOM), 1)


@dataclass(frozen=True)
class Box:
    """A rectangle: per cent across, pixels down."""

    x: float
    width: float
    y: float
    height: float


@dataclass(frozen=True)
class Panel:
    """One quantity, ready to draw."""

    title: str
    unit: str
    height: int
    line: str
    spread: str
    outside: str
    bands: tuple[Box, ...]
    nights: tuple[Box, ...]
    levels: tuple[tuple[float, str], ...]
    lone: tuple[tuple[float, float], ...]
    pin: float | None

    @property
    def empty(self) -> bool:
        """Nothing to draw."""
        return not self.line and not self.lone


@dataclass(frozen=True)
class Point:
    """The middle of a bucket: its value, its spread, and the band that held then."""

    at: float
    value: float
    low: float
    high: float
    band: Band


def panel(
    title: str,
    unit: str,
    height: int,
    track: Track,
    dark: Nights,
    band: Band,
    night_band: Band,
    now: int,
    spread: tuple[Track, Track] | None = None,
) -> Panel:
    """The panel of one track. `spread` holds the tracks of a lower and an upper limit; else extremes are the spread."""
    runs = list(_runs(track, dark, band, night_band, spread))
    scale = _scale(track, runs, (band, night_band), unit, height)
    shaded = _nights(track, dark)
    return Panel(
        title=title,
        unit=unit,
        height=height,
        line="".join(_line(run, scale) for run in runs),
        spread="".join(_spread(run, scale) for run in runs),
        outside="".join(_outside(run, scale) for run in runs),
        bands=tuple(_bands(track, dark, band, night_band, scale)),
        nights=tuple(Box(x, width, TOP - 8, height - TOP + 8) for x, width in shaded),
        levels=_levels(scale, unit),
        lone=tuple((scale.x(at) / 10, scale.y(value)) for at, value in track.lone),
        pin=scale.x(now) / 10 if track.begins <= now <= track.ends else None,
    )


def _runs(
    track: Track, dark: Nights, band: Band, night_band: Band, spread: tuple[Track, Track] | None
) -> Iterator[list[Point]]:
    """Buckets that follow each other without a gap; a bucket that is hardly covered parts them."""
    run: list[Point] = []
    for number, part in enumerate(track.parts):
        if part.whole.mean is None or part.whole.covered < 0.25 * (part.ends - part.begins):
            if run:
                yield run
            run = []
            continue
        low, high = _limits(part, number, spread)
        held = night_band if part.night.covered > part.day.covered else band
        run.append(Point((part.begins + part.ends) / 2, part.whole.mean, low, high, held))
    if run:
        yield run


def _limits(part: Part, number: int, spread: tuple[Track, Track] | None) -> tuple[float, float]:
    mean = part.whole.mean or 0.0
    if spread is None:
        low, high = part.whole.lowest, part.whole.highest
        return (mean if low is None else low), (mean if high is None else high)
    lower, upper = (one.parts[number].whole.mean for one in spread)
    return (mean if lower is None else lower), (mean if upper is None else upper)


def _scale(track: Track, runs: Sequence[list[Point]], bands: tuple[Band, Band], unit: str, height: int) -> Scale:
    seen = [value for run in runs for point in run for value in (point.low, point.high)]
    seen += [value for _, value in track.lone]
    seen += [end for band in bands for end in (band.low, band.high) if end is not None]
    low, high = (min(seen), max(seen)) if seen else (0.0, 1.0)
    lacking = max(LEAST[unit] - (high - low), (high - low) * 0.12) / 2
    low, high = low - lacking, high + lacking
    if unit != "°C":
        low = max(low, 0.0)
    return Scale(track.begins, track.ends, low, min(high, 100.0) if unit == "%" else high, height)


def _line(run: list[Point], scale: Scale) -> str:
    """A line through the run; a run of one bucket is a short stroke."""
    if len(run) == 1:
        x, y = scale.x(run[0].at), scale.y(run[0].value)
        return f"M{x - 2:g} {y:g}h4"
    return "M" + "L".join(f"{scale.x(point.at):g} {scale.y(point.value):g}" for point in run)


def _spread(run: list[Point], scale: Scale) -> str:
    if len(run) < 2:
        return ""
    upper = [f"{scale.x(point.at):g} {scale.y(point.high):g}" for point in run]
    lower = [f"{scale.x(point.at):g} {scale.y(point.low):g}" for point in reversed(run)]
    return f"M{'L'.join([*upper, *lower])}Z"


def _outside(run: list[Point], scale: Scale) -> str:
    """What lies between the line and the band, where the line is outside: cut exactly where it crosses."""
    return "".join(_beyond(run, scale, upper) for upper in (True, False))


def _beyond(run: list[Point], scale: Scale, upper: bool) -> str:
    path, sign = "", 1 if upper else -1
    for first, last in pairwise(run):
        limits = [point.band.high if upper else point.band.low for point in (first, last)]
        if limits[0] is None or limits[1] is None:
            continue
        over = ((first.value - limits[0]) * sign, (last.value - limits[1]) * sign)
        if max(over) > 0:
            corners = _corners(first, last, (limits[0], limits[1]), over)
            path += "M" + "L".join(f"{scale.x(at):g} {scale.y(value):g}" for at, value in corners) + "Z"
    return path


def _corners(
    first: Point, last: Point, limits: tuple[float, float], over: tuple[float, float]
) -> list[tuple[float, float]]:
    """The corners of one filled piece: along the line, back along the limit."""
    line = [(first.at, first.value), (last.at, last.value)]
    limit = [(first.at, limits[0]), (last.at, limits[1])]
    if over[0] > 0 and over[1] > 0:
        return [*line, *reversed(limit)]
    share = over[0] / (over[0] - over[1])
    crossing = (first.at + share * (last.at - first.at), limits[0] + share * (limits[1] - limits[0]))
    return [line[0], crossing, limit[0]] if over[0] > 0 else [crossing, line[1], limit[1]]


def _spans(track: Track, dark: Nights) -> Iterator[tuple[int, int, bool]]:
    """Day and night in turn, from the beginning to the end of the track."""
    before = track.begins
    for cut, was_dark in zip(dark.cuts, dark.dark, strict=True):
        until = min(cut, track.ends)
        if until > before:
            yield before, until, was_dark
            before = until
    if before < track.ends:
        yield before, track.ends, not dark.dark[-1]


def _shows_nights(track: Track) -> bool:
    """Beyond five weeks a night is too narrow to be seen."""
    return track.ends - track.begins <= 35 * 86_400


def _nights(track: Track, dark: Nights) -> list[tuple[float, float]]:
    if not _shows_nights(track):
        return []
    long = track.ends - track.begins
    return [
        (round((a - track.begins) / long * 100, 2), round((b - a) / long * 100, 2))
        for a, b, is_dark in _spans(track, dark)
        if is_dark
    ]


def _bands(track: Track, dark: Nights, band: Band, night_band: Band, scale: Scale) -> Iterator[Box]:
    """The band as boxes, one a day and one a night where they differ."""
    if not band:
        return
    spans = [(track.begins, track.ends, False)]
    if band != night_band and _shows_nights(track):
        spans = list(_spans(track, dark))
    for begins, ends, is_dark in spans:
        held = night_band if is_dark else band
        top = scale.y(scale.high if held.high is None else held.high)
        base = scale.y(scale.low if held.low is None else held.low)
        x = scale.x(begins) / 10
        yield Box(round(x, 2), round(scale.x(ends) / 10 - x, 2), top, round(base - top, 1))


def _levels(scale: Scale, unit: str) -> tuple[tuple[float, str], ...]:
    """Two or three round values to rule across."""
    step = next((step for step in LEVELS if (scale.high - scale.low) / step <= 3.5), LEVELS[-1])
    first = int(scale.low // step) + 1
    values = [step * n for n in range(first, first + 4) if scale.low < step * n < scale.high]
    return tuple((scale.y(value), f"{value:g} {unit}") for value in values)


@dataclass(frozen=True)
class Mark:
    """A mark on the time axis: where, and what it says."""

    x: float
    text: str


def axis(begins: int, ends: int, zone: ZoneInfo) -> tuple[Mark, ...]:
    """Hours for a day, days for weeks, months for a year."""
    long = ends - begins
    marks: list[Mark] = []
    moment = datetime.fromtimestamp(begins, zone).replace(minute=0, second=0)
    at = int(moment.timestamp())
    while at <= ends:
        text = _tick(datetime.fromtimestamp(at, zone), long)
        if text and at >= begins:
            marks.append(Mark(round((at - begins) / long * 100, 2), text))
        at += 3600
    return tuple(marks)


def _tick(moment: datetime, long: int) -> str:
    """What an hour is called on the axis; most have no name."""
    days = long / 86_400
    if days <= 2:
        return f"{moment.hour:02d}" if moment.hour % 6 == 0 else ""
    if moment.hour:
        return ""
    if days <= 10:
        return moment.strftime("%a")
    if days <= 45:
        return f"{moment.day}" if moment.day in (1, 5, 10, 15, 20, 25) else ""
    return moment.strftime("%b")[:1] if moment.day == 1 else ""
