"""A collection of any size for measuring: the mix of animals, and when each was last fed.

Shares are assumptions about a breeder's room: mostly spiderlings and juveniles, an eighth due or overdue on any day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from collection.models import Taxon
from collection.stages import Group, Lifestyle, Stage
from husbandry.rhythm import default_rhythm

SEED = 5
STAGES = ((Stage.YOUNG, 0.15, 45), (Stage.GROWING, 0.40, 25), (Stage.SUBADULT, 0.65, 12), (Stage.ADULT, 1.0, 18))
LATE_SHARE = 0.12
LATE_DAYS = 10
HARDENING_SHARE = 0.15  # of those late: held, not overdue
PAIRED_SHARE = 0.02
MOLTS = {Stage.YOUNG: 2, Stage.GROWING: 4, Stage.SUBADULT: 6, Stage.ADULT: 8}
MOLT_EVERY = {Stage.YOUNG: 38, Stage.GROWING: 95, Stage.SUBADULT: 190, Stage.ADULT: 420}
SPIDERS = {Group.TARANTULA.value, Group.TRUE_SPIDER.value}


@dataclass(frozen=True)
class Sample:
    """One animal to make: its stage and size, its rhythm, and how long ago things happened."""

    number: int
    taxon: Taxon
    stage: Stage
    size: float
    female: bool
    interval: int
    fed: int  # days ago
    molted: int
    paired: int | None = None  # days ago

    @property
    def code(self) -> str:
        """The keeper's code."""
        return f"{self.taxon.name[0]}-{self.number:05d}"

    def molts(self) -> Iterator[tuple[int, float]]:
        """Days ago and size after it, oldest first."""
        count = MOLTS[self.stage]
        for back in range(count - 1, -1, -1):
            yield self.molted + back * int(MOLT_EVERY[self.stage] * 0.8), round(self.size / 1.25**back, 1)


def sample(number: int, taxa: list[Taxon], rng: Random) -> Sample:
    """One animal of the mix."""
    taxon = rng.choice(taxa)
    stage, part, _ = rng.choices(STAGES, weights=[weight for *_, weight in STAGES])[0]
    size = round(
        (taxon.adult_size_mm or 50) * part * rng.uniform(0.9, 1.0) if part < 1 else taxon.adult_size_mm or 50, 1
    )
    lifestyle = Lifestyle(taxon.lifestyle or Lifestyle.TERRESTRIAL)
    rhythm = default_rhythm(Group(taxon.group), stage, lifestyle, size_mm=size, slow=taxon.slow)
    interval = rhythm.days if rhythm else 14
    late = rng.random() < LATE_SHARE
    fed = interval + rng.randrange(LATE_DAYS) if late else rng.randrange(interval)
    female = rng.random() < 0.5
    molted = rng.randrange(15, int(MOLT_EVERY[stage] * 0.7))
    if late and rng.random() < HARDENING_SHARE:
        molted = rng.randrange(1, 5)
    paired = _paired(taxon, stage, female, molted, rng)
    return Sample(number, taxon, stage, size, female, interval, fed, molted, paired)


def _paired(taxon: Taxon, stage: Stage, female: bool, molted: int, rng: Random) -> int | None:
    """Adult females make about a tenth of the mix, so a fifth of them gives the share of paired ones."""
    if stage is not Stage.ADULT or not female or not taxon.sac_months_min:
        return None
    wanted = PAIRED_SHARE / (STAGES[-1][2] / sum(weight for *_, weight in STAGES) * 0.5)
    return rng.randrange(5, max(molted, 6)) if rng.random() < wanted else None


def meal_days(one: Sample, count: int, today: date) -> Iterator[tuple[date, str]]:
    """So many meals at its rhythm up to the last one, about one in fifteen refused."""
    day = today - timedelta(days=one.fed)
    for back in range(count):
        refused = back and (back * 7 + one.number) % 15 == 0
        yield day - timedelta(days=back * one.interval), "refused" if refused else "taken"
