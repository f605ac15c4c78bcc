"""Bands of temperature and humidity: what an animal wants, and what suits all that live in one place.

The defaults by lifestyle are care pages and common practice, none of them measured; the figures of the taxon and the
keeper's own band go before them. Temperatures are of the day, in °C; humidity is relative, in per cent, in the air of
the enclosure. A night may be cooler: by how much is the keeper's to say, 3 °C unless told otherwise (assumption).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from collection.stages import Group, Lifestyle

NIGHT_DROP = 3.0  # °C, assumption
PRACTICE = "common practice"
PAGES = "care pages and common practice"


@dataclass(frozen=True)
class Band:
    """From where to where, and what that rests on. An end that is None is open."""

    low: float | None
    high: float | None
    why: str = ""

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise ValueError("The lower end of a band must lie below the upper one.")

    def __bool__(self) -> bool:
        """Whether it bounds anything."""
        return self.low is not None or self.high is not None

    def cooler(self, drop: float) -> "Band":
        """The same with its lower end so much lower, as for a night."""
        return Band(None if self.low is None else self.low - drop, self.high, self.why)

    def says(self, unit: str) -> str:
        """In words: 23–28 °C, at least 70 %, at most 30 °C, or nothing."""
        if self.low is not None and self.high is not None:
            return f"{self.low:g}–{self.high:g} {unit}"
        if self.low is not None:
            return f"at least {self.low:g} {unit}"
        return f"at most {self.high:g} {unit}" if self.high is not None else ""


OPEN = Band(None, None)


@dataclass(frozen=True)
class Clash:
    """No air suits all: the driest or coolest wish ends before the dampest or warmest begins."""

    lowest: float  # the upper end that is lowest
    highest: float  # the lower end that is highest

    def says(self, unit: str) -> str:
        """In words."""
        return f"what lives here wants at most {self.lowest:g} and at least {self.highest:g} {unit}"


def what_suits_all(bands: Iterable[Band]) -> Band | Clash:
    """The air that suits every one of them: from the highest lower end to the lowest upper one.

    An open band asks for nothing; without any other the answer is open too.
    """
    asked = [band for band in bands if band]
    lows = [band.low for band in asked if band.low is not None]
    highs = [band.high for band in asked if band.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if low is not None and high is not None and low >= high:
        return Clash(high, low)
    grounds = {band.why for band in asked if band.why}
    return Band(low, high, grounds.pop() if len(grounds) == 1 else "what suits all that live here")


_Figures = tuple[float, float, float, float]  # humidity from, to, °C from, to
_BY_LIFESTYLE: dict[Group, dict[Lifestyle, _Figures]] = {
    Group.TARANTULA: {
        Lifestyle.TERRESTRIAL: (55, 70, 23, 28),
        Lifestyle.FOSSORIAL: (70, 85, 22, 27),
        Lifestyle.ARBOREAL: (60, 75, 23, 28),
        Lifestyle.DWARF: (70, 80, 23, 28),
    },
}
_BY_GROUP: dict[Group, _Figures] = {
    Group.MANTIS: (40, 70, 22, 30),
    Group.MILLIPEDE: (70, 85, 22, 27),
}


def default_bands(group: Group, lifestyle: Lifestyle | None) -> tuple[Band, Band]:
    """Humidity and temperature for a group and lifestyle of which nothing nearer is known; open where nothing is.

    A scorpion may be of the desert or of the forest, which its group does not tell: open.
    """
    figures = _BY_LIFESTYLE.get(group, {}).get(lifestyle) if lifestyle else None
    figures = figures or _BY_GROUP.get(group)
    if figures is None:
        return OPEN, OPEN
    driest, dampest, coolest, warmest = figures
    basis = PAGES if group is Group.TARANTULA else PRACTICE
    return Band(driest, dampest, basis), Band(coolest, warmest, basis)
