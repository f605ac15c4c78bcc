"""Lives in groups: curves, medians, numbers at risk, a comparison in words; and what is too little to say.

Days count from the first: one that came and died on the same day was watched for a day. Pure; see `survival`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from collection import survival
from collection.survival import LogRank, Step

ENOUGH_ANIMALS = 10  # with fewer no curve is drawn
ENOUGH_DEATHS = 3  # a curve of two steps says nothing
DRAWN = 4  # groups in one figure; more cannot be told apart in red light
THIN = 5  # fewer at risk than this, and each death moves the curve by a fifth or more


@dataclass(frozen=True)
class Life:
    """One animal: the days of its clock on which it came under watch and was last seen, and what it died of."""

    entry: float
    exit: float
    cause: str = ""  # empty: alive when last seen


@dataclass(frozen=True)
class Reading:
    """The curve at one time: how many were at risk, how many had died, the share alive with its limits."""

    time: float
    at_risk: int
    died: int
    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Curve:
    """The lives of one group and what they say."""

    label: str
    lives: tuple[Life, ...]

    @cached_property
    def animals(self) -> int:
        """How many were under watch."""
        return len(self.lives)

    @cached_property
    def deaths(self) -> int:
        """How many of them died."""
        return sum(bool(life.cause) for life in self.lives)

    @property
    def few(self) -> bool:
        """Whether they are too few to say anything."""
        return self.animals < ENOUGH_ANIMALS or self.deaths < ENOUGH_DEATHS

    @cached_property
    def columns(self) -> tuple[list[float], list[bool], list[float]]:
        """Exits, whether it died, and entries."""
        return (
            [life.exit for life in self.lives],
            [bool(life.cause) for life in self.lives],
            [life.entry for life in self.lives],
        )

    @cached_property
    def steps(self) -> list[Step]:
        """The Kaplan–Meier curve."""
        return survival.kaplan_meier(*self.columns)

    @cached_property
    def begins(self) -> float:
        """From when it counts."""
        return survival.begins(*self.columns)

    @cached_property
    def ends(self) -> float:
        """How long anybody was watched."""
        return max(self.columns[0], default=0.0)

    @property
    def median(self) -> float | None:
        """The time by which half have died, or None."""
        return survival.median(self.steps)

    @property
    def thin_until(self) -> float | None:
        """Until when fewer than a handful were at risk at the deaths that begin the curve; None if from none."""
        early = [step.time for step in self.steps if step.at_risk < THIN]
        later = next((step.time for step in self.steps if step.at_risk >= THIN), None)
        return max((time for time in early if later is None or time < later), default=None)

    @cached_property
    def told_until(self) -> float:
        """Until when it is worth drawing: the last death, or the last time with a handful at risk."""
        exits, _, entries = self.columns
        ends = sorted(set(exits))
        thick = [time for time, n in zip(ends, survival.at_risk(exits, ends, entries), strict=True) if n >= THIN]
        return max([*thick[-1:], *(step.time for step in self.steps[-1:])], default=self.ends)

    @property
    def thin_from(self) -> float | None:
        """From when the deaths at the end of the curve fell among fewer than a handful; None if none did."""
        thick = max((step.time for step in self.steps if step.at_risk >= THIN), default=0.0)
        return next((step.time for step in self.steps if step.time > thick and thick > 0), None)

    def readings(self, times: Sequence[float]) -> list[Reading]:
        """The curve at these times, as far as anybody was watched."""
        times = [time for time in times if self.begins <= time <= self.ends]
        exits, _, entries = self.columns
        risk = survival.at_risk(exits, times, entries)
        return [self._reading(time, n) for time, n in zip(times, risk, strict=True)]

    def _reading(self, time: float, at_risk: int) -> Reading:
        past = [step for step in self.steps if step.time <= time]
        if not past:
            return Reading(time, at_risk, 0, 1.0, 1.0, 1.0)
        last = past[-1]
        return Reading(time, at_risk, sum(step.events for step in past), last.survival, last.low, last.high)


@dataclass(frozen=True)
class CauseShare:
    """What one cause took: how many, and the share of all lost to it by the end of watching, the others competing."""

    cause: str
    deaths: int
    share: float
    low: float
    high: float


def curves(groups: Mapping[str, Sequence[Life]]) -> list[Curve]:
    """The groups as curves, the largest first."""
    made = [Curve(label, tuple(lives)) for label, lives in groups.items() if lives]
    return sorted(made, key=lambda curve: (-curve.animals, curve.label))


def causes(lives: Sequence[Life]) -> list[CauseShare]:
    """The share lost to each cause, the most first."""
    died = [life.cause or 0 for life in lives]
    found = survival.cumulative_incidence([life.exit for life in lives], died, [life.entry for life in lives])
    rows = []
    for cause, steps in found.items():
        number = sum(life.cause == cause for life in lives)
        last = steps[-1] if steps else None
        rows.append(
            CauseShare(cause, number, last.incidence, last.low, last.high)
            if last
            else CauseShare(cause, number, 0.0, 0.0, 0.0)
        )
    return sorted(rows, key=lambda row: (-row.share, row.cause))


def compare(found: Sequence[Curve]) -> LogRank | None:
    """Whether the groups differ; None where fewer than two have enough to say."""
    told = [curve for curve in found if not curve.few]
    if len(told) < 2:
        return None
    exits = [life.exit for curve in told for life in curve.lives]
    died = [bool(life.cause) for curve in told for life in curve.lives]
    entries = [life.entry for curve in told for life in curve.lives]
    return survival.log_rank(exits, died, [curve.label for curve in told for _ in curve.lives], entries)


def say_difference(found: LogRank) -> str:
    """The comparison in words, without more certainty than there is."""
    p = f"p = {found.p:.3f}" if found.p >= 0.001 else "p below 0.001"
    if found.p < 0.01:
        return f"They die at different rates; chance alone would hardly part them so (log-rank, {p})."
    if found.p < 0.05:
        return (
            "They seem to die at different rates; chance alone would part them so fewer than once in twenty times "
            f"(log-rank, {p})."
        )
    return f"No difference shows that chance could not make (log-rank, {p}); that does not prove that there is none."
