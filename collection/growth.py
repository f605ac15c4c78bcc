"""Growth at molts: Dyar's constant ratio, its limits, what the species lends a short series, and molts nobody saw.

Dyar 1890 (Psyche 5:420): size_i = size_1 · r^(i − 1) for a hard part, so ln size is linear in the instar, r = e^slope.
Log carapace width is linear in the stadium for 14 species of 8 spider families (Ann. Ent. Soc. Am. 64:757, 1971);
*Grammostola vachoni* grows 38 % a molt, both sexes alike (Zool. Anz. 293:37–45, 2021). Sizes are in mm, always of one
measure: leg span and carapace have different ratios. A male's molt to maturity and molts with lost legs break the
series and do not belong in it.

Limits of the next size are prediction limits of ordinary least squares (Student t, n − 2 degrees), not the fit's own.
A real series can leave its own 90 % limits, so a short one is shrunk to the species: `shrink_ratio`.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[int, float] | tuple[int, float, str]

FEWEST = 2  # different instars, for a ratio
FEWEST_FOR_LIMITS = 3  # sizes, for limits
MOST_INSTARS = 10_000  # beyond what any animal molts
WIDEST_SCATTER = 1e6  # of a log: beyond what any size does
SURE_STEP = 1e-9  # rounding at the border between one molt and two


@dataclass(frozen=True)
class GrowthFit:
    """A least-squares line through ln size on instar.

    `ratio`: growth at a molt, e^slope; `log_sd`: residual standard deviation of ln size; `n` sizes. With fewer than two
    instars ratio and slope are None, with two sizes `log_sd` is None; `unknown` says in a sentence what is missing.
    """

    ratio: float | None
    slope: float | None
    log_sd: float | None
    n: int
    unknown: str = ""
    r_squared: float | None = None
    last: int = 0  # the highest instar in the fit
    mean_instar: float = 0.0
    mean_log: float = 0.0
    spread: float = 0.0  # sum of squares of the instars about their mean

    def next_size(self, level: float) -> tuple[float, float, float] | None:
        """Median and prediction limits in mm of the instar after the last, which falls between them with `level`.

        None without a ratio; with two sizes the limits are 0 and infinity, since nothing is known of the scatter.
        """
        return self.size_at(self.last + 1, level)

    def size_at(self, instar: int, level: float) -> tuple[float, float, float] | None:
        """The same for one new size at any instar."""
        _share(level)
        if self.slope is None:
            return None
        middle = self.mean_log + self.slope * (instar - self.mean_instar)
        if self.log_sd is None:
            return _mm(middle), 0.0, math.inf
        error = self.log_sd * math.sqrt(1 + 1 / self.n + (instar - self.mean_instar) ** 2 / self.spread)
        reach = _student(level, self.n - 2) * error
        return _mm(middle), _mm(middle - reach), _mm(middle + reach)

    def ratio_limits(self, level: float) -> tuple[float, float] | None:
        """Confidence limits of the ratio; None with fewer than three sizes."""
        _share(level)
        if self.slope is None or self.log_sd is None:
            return None
        reach = _student(level, self.n - 2) * self.log_sd / math.sqrt(self.spread)
        return _mm(self.slope - reach), _mm(self.slope + reach)


def fit_growth(points: Iterable[Point]) -> GrowthFit:
    """Fit Dyar's rule to (instar, size in mm), in any order; a third entry names the measure, which must be one.

    Several sizes of one instar each count. Errors: ValueError for a size or instar that cannot be, or two measures.
    """
    found = _checked(points)
    n = len(found)
    instars = sorted({instar for instar, _ in found})
    if len(instars) < FEWEST:
        have = "No size" if not found else "Sizes of one instar only"
        return GrowthFit(None, None, None, n, f"{have}: growth takes sizes after two different molts.")
    logs = [math.log(size) for _, size in found]
    mean_x, mean_y = math.fsum(i for i, _ in found) / n, math.fsum(logs) / n
    spread = math.fsum((i - mean_x) ** 2 for i, _ in found)
    slope = math.fsum((i - mean_x) * (y - mean_y) for (i, _), y in zip(found, logs, strict=True)) / spread
    rest = math.fsum((y - mean_y - slope * (i - mean_x)) ** 2 for (i, _), y in zip(found, logs, strict=True))
    total = math.fsum((y - mean_y) ** 2 for y in logs)
    few = n < FEWEST_FOR_LIMITS
    return GrowthFit(
        ratio=_mm(slope),
        slope=slope,
        log_sd=None if few else math.sqrt(rest / (n - 2)),
        n=n,
        unknown="Two sizes give a ratio, but say nothing of how it scatters." if few else "",
        r_squared=1 - rest / total if total else None,
        last=instars[-1],
        mean_instar=mean_x,
        mean_log=mean_y,
        spread=spread,
    )


@dataclass(frozen=True)
class ShrunkRatio:
    """A ratio between an animal's own and its kind's: `weight` is the share of its own, 0 to 1.

    `predictive_sd`: standard deviation of the log of its next ratio, own scatter and doubt about its ratio together.
    """

    weight: float
    ratio: float
    predictive_sd: float

    def next_size(self, size: float, level: float) -> tuple[float, float, float]:
        """Median and limits in mm of the size after the next molt, from the size now."""
        from collection.special import ndtri

        now = math.log(_size(size))
        _share(level)
        reach = float(ndtri((1 + level) / 2)) * self.predictive_sd
        middle = now + math.log(self.ratio)
        return _mm(middle), _mm(middle - reach), _mm(middle + reach)


def shrink_ratio(log_ratios: Sequence[float], within_sd: float, between_sd: float, prior_ratio: float) -> ShrunkRatio:
    """Draw an animal's mean log ratio towards its kind's: weight n·b² / (n·b² + w²).

    `log_ratios`: ln of size over the size before, one for each molt (none is allowed); `within_sd` w: scatter of one
    animal's log ratios; `between_sd` b: of the animals' own means; `prior_ratio`: of the kind. Errors: ValueError for
    a scatter below zero, a ratio not above zero, anything not a number.
    """
    within, between = _not_negative(within_sd, "The scatter within"), _not_negative(between_sd, "The scatter between")
    prior = math.log(_positive(prior_ratio, "A ratio"))
    logs = [_number(value) for value in log_ratios]
    n = len(logs)
    weight = n * between**2 / (n * between**2 + within**2) if n and between else 0.0
    mean = math.fsum(logs) / n if n else 0.0
    left = between**2 * (1 - weight)
    return ShrunkRatio(weight, _mm(weight * mean + (1 - weight) * prior), math.sqrt(left + within**2))


def missed_molts(size_before: float, size_after: float, ratio: float) -> int:
    """How many molts between two recorded ones nobody saw: above ratio^1.5 one, above ratio^2.5 two, and so on.

    The rule is an assumption. A size that stayed or shrank hides none. Errors:
    ValueError for a size not above zero, a ratio that does not grow, anything not a number.
    """
    before, after = _size(size_before), _size(size_after)
    if not 1 < ratio < math.inf:
        raise ValueError(f"A growth ratio is a number above 1, not {ratio}.")
    molts = (math.log(after) - math.log(before)) / math.log(ratio)
    return max(0, math.ceil(molts - 1.5 - SURE_STEP))


@dataclass(frozen=True)
class Cohort:
    """Animals of one kind grown alike: one slope for all, each with a start of its own (random intercept).

    `between_sd`: of the starts, in logs; `within_sd`: of a size about its animal's line; `animals` counts those with
    two instars or more. `unknown` says what is missing when `ratio` is None.
    """

    ratio: float | None
    slope: float | None
    between_sd: float | None
    within_sd: float | None
    animals: int
    unknown: str = ""


def fit_cohort(series: Iterable[Sequence[Point]]) -> Cohort:
    """Fit one ratio to several animals' sizes of the same measure.

    The slope is the one within animals, the variances by moments; for a balanced design (every animal measured at the
    same instars) this is REML in closed form. Errors: as `fit_growth`.
    """
    checked = [_checked(points) for points in series]
    kept = [found for found in checked if len({instar for instar, _ in found}) >= FEWEST]
    animals, n = len(kept), sum(len(found) for found in kept)
    free = n - animals - 1
    if animals < 2 or free < 1:
        return Cohort(None, None, None, None, animals, "One ratio for several takes two animals with two molts each.")
    centred = [_centred(found) for found in kept]
    spread = math.fsum(x * x for rows in centred for x, _ in rows)
    slope = math.fsum(x * y for rows in centred for x, y in rows) / spread
    within = math.fsum((y - slope * x) ** 2 for rows in centred for x, y in rows) / free
    starts = [math.fsum(math.log(s) - slope * i for i, s in found) / len(found) for found in kept]
    mean = math.fsum(starts) / animals
    scatter = math.fsum((start - mean) ** 2 for start in starts) / (animals - 1)
    between = max(0.0, scatter - within * math.fsum(1 / len(found) for found in kept) / animals)
    return Cohort(_mm(slope), slope, math.sqrt(between), math.sqrt(within), animals)


def log_ratios(points: Iterable[Point]) -> list[float]:
    """Growth of ln size per molt between neighbouring instars; a gap of k molts counts as k equal steps.

    Several sizes of one instar count as their geometric mean.
    """
    logs: dict[int, list[float]] = {}
    for instar, size in sorted(_checked(points)):
        logs.setdefault(instar, []).append(math.log(size))
    found = [(instar, math.fsum(sizes) / len(sizes)) for instar, sizes in logs.items()]
    steps = [(later[0] - earlier[0], later[1] - earlier[1]) for earlier, later in pairwise(found)]
    return [growth / molts for molts, growth in steps for _ in range(molts)]


def _centred(found: Sequence[tuple[int, float]]) -> list[tuple[float, float]]:
    n = len(found)
    x = math.fsum(i for i, _ in found) / n
    y = math.fsum(math.log(size) for _, size in found) / n
    return [(i - x, math.log(size) - y) for i, size in found]


def _checked(points: Iterable[Point]) -> list[tuple[int, float]]:
    rows = list(points)
    measures = {point[2] for point in rows if len(point) == 3}
    if len(measures) > 1:
        named = " and ".join(sorted(str(measure) for measure in measures))
        raise ValueError(f"{named[0].upper()}{named[1:]} grow by different ratios; take one of them.")
    return [(_instar(point[0]), _size(point[1])) for point in rows]


def _instar(value: float) -> int:
    if not 0 <= value <= MOST_INSTARS or value != int(value):
        raise ValueError(f"An instar is a whole number from zero up, not {value}.")
    return int(value)


def _size(value: float) -> float:
    return _positive(value, "A size")


def _positive(value: float, what: str) -> float:
    if not 0 < value < math.inf:
        raise ValueError(f"{what} must be a number above zero, not {value}.")
    return float(value)


def _not_negative(value: float, what: str) -> float:
    if not 0 <= value <= WIDEST_SCATTER:
        raise ValueError(f"{what} must be a number from zero up, not {value}.")
    return float(value)


def _number(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"A log ratio must be a number, not {value}.")
    return float(value)


def _share(level: float) -> None:
    if not 0 < level < 1:
        raise ValueError(f"Limits hold a share between 0 and 1, not {level}.")


def _student(level: float, degrees: int) -> float:
    from collection.special import stdtrit

    return float(stdtrit(degrees, (1 + level) / 2))


def _mm(log_size: float) -> float:
    """A size from its log; a doubtful line can reach beyond what a float holds."""
    return math.exp(log_size) if log_size < 700 else math.inf
