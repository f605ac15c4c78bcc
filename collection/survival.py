"""How long animals live: Kaplan–Meier, competing causes of death, and whether groups differ.

Times are in any one unit (days here). An animal is at risk at t when entry < t ≤ exit: one bought part-grown entered at
the age at which it came (left-truncated), one that is alive or was passed on left without the event (right-censored).
A row whose entry equals its exit was never under watch and is left out.

Formulas: Kaplan & Meier, J. Am. Stat. Assoc. 53:457–481 (1958); Greenwood's variance; limits of 95 % on the log(−log)
scale; Aalen & Johansen, Scand. J. Stat. 5:141–150 (1978), with the delta-method variance (Marubini & Valsecchi,
*Analysing Survival Data from Clinical Trials and Observational Studies*, 1995, chapter 10); log-rank with its
hypergeometric variance for any number of groups (Kalbfleisch & Prentice, 2nd ed., chapter 1).

Limits: where all who were watched died before the next came under watch, the curve would be 0 for good. It begins
anew after that time instead, and `begins` says when. Errors: ValueError for times that are negative or no numbers, an
exit before its entry, lists of unequal length, one group alone.
"""

import math
from collections.abc import Hashable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from collection.wording import plural

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

LIMIT_SCORE = 1.959963984540054  # of a normal, for limits of 95 %
HALF = 0.5 + 1e-12  # a product of fractions may miss one half by rounding
Outcomes = Sequence[Any]


class Step(NamedTuple):
    """What one time at which something happened does to the curve.

    `survival` is the share that lives past `time`; in a cumulative incidence it is the share lost to the cause by
    then. Where the curve reaches 0 the standard error is 0 (Greenwood's limit), and the upper limit is that of the
    step before, which still holds, since nobody comes back.
    """

    time: float
    at_risk: int
    events: int
    survival: float
    standard_error: float
    low: float
    high: float

    @property
    def incidence(self) -> float:
        """The same height under its name in a cumulative incidence."""
        return self.survival


class LogRank(NamedTuple):
    """The log-rank statistic and the chance of one as large if the groups do not differ."""

    chi_square: float
    p: float


class _Life(NamedTuple):
    """Rows that were under watch, and the times of events with how many were at risk and how many had the event."""

    entry: "Array"
    exit: "Array"
    event: "NDArray[np.bool_]"
    kept: "NDArray[np.intp]"  # their places in what was given
    times: "Array"
    at_risk: "Array"
    deaths: "Array"
    begins: float


def kaplan_meier(durations: Sequence[float], observed: Outcomes, entries: Sequence[float] | None = None) -> list[Step]:
    """Return the steps of the share that survives, one for each time of an event; none when all are censored.

    `durations`: age or time at which each was last watched; `observed`: whether that was the event; `entries`: when
    each came under watch, none meaning from the start.
    """
    import numpy as np

    life = _life(durations, _flags(observed), entries)
    survival: Array = np.cumprod(1 - life.deaths / life.at_risk)
    green = _greenwood(life)
    error: Array = survival * np.sqrt(np.cumsum(np.where(np.isfinite(green), green, 0.0)))
    return _steps(life.times, life.at_risk, life.deaths, survival, error)


def cumulative_incidence(
    durations: Sequence[float], causes: Outcomes, entries: Sequence[float] | None = None
) -> dict[Any, list[Step]]:
    """Return for each cause the share lost to it by each time at which it struck, the other causes competing.

    `causes`: 0 for censored ("0" in a column of words), otherwise the cause, a number or a word. Causes come in the
    order of the table.
    """
    import numpy as np

    causes = _causes(causes)
    life = _life(durations, [cause != 0 for cause in causes], entries)
    dying = np.cumprod(1 - life.deaths / life.at_risk)
    before = np.concatenate([[1.0], dying[:-1]])
    green = np.where(np.isfinite(green := _greenwood(life)), green, 0.0)  # after the last nothing is to come
    found: dict[Any, list[Step]] = {}
    for cause in dict.fromkeys(cause for cause in causes if cause != 0):
        struck = np.array([causes[place] == cause for place in life.kept], dtype=bool)
        died = _counts(life.times, life.exit[struck])
        incidence = np.cumsum(before * died / life.at_risk)
        error = np.sqrt(_incidence_variance(life.at_risk, died, before, green, incidence))
        here = died > 0
        found[cause] = _steps(life.times[here], life.at_risk[here], died[here], incidence[here], error[here])
    return found


def log_rank(
    durations: Sequence[float],
    observed: Outcomes,
    groups: Sequence[Hashable],
    entries: Sequence[float] | None = None,
) -> LogRank:
    """Return whether the groups die at different rates; no deaths at all are no difference.

    A group of which nobody was ever at risk of what happened counts for nothing. ValueError with fewer than two
    groups.
    """
    import numpy as np

    from collection.special import chdtrc

    life = _life(durations, _flags(observed), entries, restart=False)
    if len(groups) != len(durations):
        raise ValueError(f"{_counts_of(len(durations), len(groups), 'group')}; each time needs its group.")
    names = _plain(groups)
    labels = {label: number for number, label in enumerate(dict.fromkeys(names))}
    if len(labels) < 2:
        raise ValueError("A comparison takes two groups at least.")
    member = np.array([labels[names[place]] for place in life.kept], dtype=int)
    inside = [member == number for number in range(len(labels))]
    risk = np.array([_at_risk(life.times, life.entry[who], life.exit[who]) for who in inside])
    died = np.array([_counts(life.times, life.exit[who & life.event]) for who in inside])
    share = risk / np.maximum(life.at_risk, 1)
    expected = share * life.deaths
    counted = expected.sum(1) > 0
    freedom = int(counted.sum()) - 1
    if freedom < 1:
        return LogRank(0.0, 1.0)
    scale = life.deaths * (life.at_risk - life.deaths) / np.maximum(life.at_risk - 1, 1)
    variance = np.diag((share * scale).sum(1)) - (share * scale) @ share.T
    excess = (died - expected).sum(1)[counted][:-1]
    solved = np.linalg.lstsq(variance[counted][:, counted][:-1, :-1], excess, rcond=None)[0]
    chi_square = max(0.0, float(excess @ solved))
    return LogRank(chi_square, float(chdtrc(freedom, chi_square)))


def begins(durations: Sequence[float], observed: Outcomes, entries: Sequence[float] | None = None) -> float:
    """Return the time from which the curve counts: the first entry, or when all watched had died before others came."""
    return _life(durations, _flags(observed), entries).begins


def median(steps: Sequence[Step]) -> float | None:
    """Return the time by which half have died, or None when the curve never falls so far."""
    return next((step.time for step in steps if step.survival <= HALF), None)


def share_at(steps: Sequence[Step], time: float, before: float = 1.0) -> float:
    """Return the height of the curve at a time; `before` is its height at the start: 1, or 0 for an incidence."""
    past = [step.survival for step in steps if step.time <= time]
    return past[-1] if past else before


def mean_within(steps: Sequence[Step], limit: float, start: float = 0.0) -> float:
    """Return the mean time lived between `start` and `limit` (the restricted mean): the area under the curve."""
    area, last, height = 0.0, start, 1.0
    for step in steps:
        if step.time >= limit:
            break
        area, last, height = area + (step.time - last) * height, step.time, step.survival
    return area + (limit - last) * height


def chance_of_cause(incidence: Sequence[Step], survival: Sequence[Step], now: float, ahead: float) -> float | None:
    """Return the chance to be lost to the cause in the next `ahead`, being alive `now`; None where none was alive."""
    alive = share_at(survival, now)
    if alive <= 0:
        return None
    return (share_at(incidence, now + ahead, 0.0) - share_at(incidence, now, 0.0)) / alive


def at_risk(durations: Sequence[float], times: Sequence[float], entries: Sequence[float] | None = None) -> list[int]:
    """Return how many were under watch just before each of these times."""
    import numpy as np

    exits = _times(durations, "A time")
    entry = _entries(entries, exits)
    watched = entry < exits
    return [int(n) for n in _at_risk(np.asarray(times, dtype=float), entry[watched], exits[watched])]


def _life(
    durations: Sequence[float], event: Sequence[bool], entries: Sequence[float] | None, *, restart: bool = True
) -> _Life:
    import numpy as np

    exits, happened = _times(durations, "A time"), np.array(event, dtype=bool)
    if happened.shape != exits.shape:
        raise ValueError(f"{_counts_of(exits.size, happened.size, 'outcome')}; each time needs its own.")
    entry = _entries(entries, exits)
    kept = np.flatnonzero(entry < exits)
    entry, exits, happened = entry[kept], exits[kept], happened[kept]
    times = np.unique(exits[happened])
    risk, deaths = _at_risk(times, entry, exits), _counts(times, exits[happened])
    start = float(max(entry.min(), 0.0)) if entry.size else 0.0
    last = exits.max() if exits.size else 0.0
    emptied = np.flatnonzero((risk == deaths) & (times < last)) if restart else np.array([], dtype=int)
    if emptied.size:
        start = float(times[emptied[-1]])
        later = times > start
        times, risk, deaths = times[later], risk[later], deaths[later]
    return _Life(entry, exits, happened, kept, times, risk, deaths, start)


def _at_risk(times: "Array", entry: "Array", exits: "Array") -> "Array":
    """Who came before each time and had not left before it."""
    import numpy as np

    came = np.searchsorted(np.sort(entry), times, side="left")
    left = np.searchsorted(np.sort(exits), times, side="left")
    return (came - left).astype(float)


def _counts(times: "Array", found: "Array") -> "Array":
    """How many of `found` fall on each of the times."""
    import numpy as np

    ordered = np.sort(found)
    counted = np.searchsorted(ordered, times, side="right") - np.searchsorted(ordered, times, side="left")
    return counted.astype(float)


def _greenwood(life: _Life) -> "Array":
    """d/(n(n − d)) at each time; infinite where all at risk die."""
    import numpy as np

    left = life.at_risk * (life.at_risk - life.deaths)
    return np.divide(life.deaths, left, where=left > 0, out=np.full_like(left, np.inf))


def _incidence_variance(risk: "Array", died: "Array", before: "Array", green: "Array", incidence: "Array") -> "Array":
    """Σ over times up to t of (F(t) − F)² g + S²d(n − d)/n³ − 2(F(t) − F) S d/n², opened up to be linear in time."""
    import numpy as np

    own = before**2 * died * (risk - died) / risk**3
    cross = before * died / risk**2
    squares, first, plain = (np.cumsum(green * incidence**power) for power in (2, 1, 0))
    variance = incidence**2 * plain - 2 * incidence * first + squares
    variance += np.cumsum(own) - 2 * (incidence * np.cumsum(cross) - np.cumsum(cross * incidence))
    return np.maximum(variance, 0.0)


def _steps(times: "Array", risk: "Array", events: "Array", height: "Array", error: "Array") -> list[Step]:
    steps: list[Step] = []
    for time, n, d, share, spread in zip(times, risk, events, height, error, strict=True):
        upper = steps[-1].high if steps else 1.0
        low, high = _limits(float(share), float(spread), upper)
        steps.append(Step(float(time), int(n), int(d), float(share), float(spread), low, high))
    return steps


def _limits(share: float, error: float, upper: float) -> tuple[float, float]:
    """Limits of 95 % on the log(−log) scale; at 0 the upper one of the step before, at 1 none are known but 1."""
    if share <= 0:
        return 0.0, upper
    if share >= 1:
        return 1.0, 1.0
    reach = LIMIT_SCORE * error / (share * math.log(share))  # negative: the first power is the upper limit
    return share ** math.exp(-reach), share ** math.exp(reach)


def _counts_of(times: int, others: int, one: str, many: str = "") -> str:
    return f"There {'is' if times == 1 else 'are'} {plural(times, 'time')} and {plural(others, one, many)}"


def _plain(values: Any) -> list[Any]:
    """Plain values of a list, a column or an array."""
    return list(values.tolist() if hasattr(values, "tolist") else values)


def _flags(observed: Outcomes) -> list[bool]:
    values = _plain(observed)
    for value in values:
        if value not in (0, 1):
            raise ValueError(f"Whether it happened is yes or no, 1 or 0, not {value}.")
    return [bool(value) for value in values]


def _causes(causes: Outcomes) -> list[Any]:
    values = [0 if cause == "0" else cause for cause in _plain(causes)]
    for cause in values:
        if cause != cause or cause in (None, "") or (isinstance(cause, int | float) and cause < 0):
            raise ValueError(f"A cause is 0 for none yet, a number above it or a word, not {cause}.")
    return values


def _times(values: Sequence[float], what: str) -> "Array":
    import numpy as np

    times = np.asarray(values, dtype=float)
    wrong = times[~(np.isfinite(times) & (times >= 0))]
    if wrong.size:
        raise ValueError(f"{what} must be a number from zero up, not {wrong[0]}.")
    return times


def _entries(entries: Sequence[float] | None, exits: "Array") -> "Array":
    """When each came under watch; without entries before all time, so that a death at 0 counts."""
    import numpy as np

    if entries is None:
        return np.full(exits.shape, -1.0)
    entry = _times(entries, "A time of entry")
    if entry.shape != exits.shape:
        raise ValueError(f"{_counts_of(exits.size, entry.size, 'entry', 'entries')}; each time needs its own.")
    late = np.flatnonzero(entry > exits)
    if late.size:
        raise ValueError(f"Nobody leaves before coming: in at {entry[late[0]]:g}, out at {exits[late[0]]:g}.")
    return entry
