"""From recorded molts to a series that growth can be fitted to: one measure, each size at its instar, no odd ones.

A shed skin has the size of the instar before; the animal itself has the size of the new one. Left out, each with its
reason: a male's molt to maturity, a leg span after legs were lost, a size without a place in the order. Instars are the
recorded steps where they run upwards, counted on where one is missing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from collection.growth import Point, missed_molts
from collection.stages import Group

CARAPACE, LEG_SPAN, BODY = "carapace_mm", "leg_span_mm", "body_mm"
SPIDERS = {CARAPACE: "carapace length", LEG_SPAN: "leg span", BODY: "body length"}
MEASURES: dict[Group, dict[str, str]] = {
    Group.TARANTULA: SPIDERS,
    Group.TRUE_SPIDER: SPIDERS,
    Group.WHIP_SPIDER: SPIDERS,
    Group.SCORPION: {CARAPACE: "carapace length", BODY: "body length"},
    Group.MANTIS: {CARAPACE: "pronotum length", BODY: "body length"},
    Group.ROACH: {CARAPACE: "pronotum length", BODY: "body length"},
    Group.BEETLE: {CARAPACE: "head capsule width", BODY: "length of the larva"},
}
JUST_BODY = {BODY: "body length"}

# Growth at a molt where an animal and its kind have no figure of their own. Przibram's rule says the cube root of 2;
# mantids grow by a third in length (care literature); *Paruroctonus mesaensis* ×1.38; *Blaptica dubia* pronotum ×1.26;
# 1.30 for theraphosids is an assumption below the 1.38 measured in well-fed *Grammostola vachoni*.
PRZIBRAM = 2 ** (1 / 3)
RATIOS: dict[Group, float] = {Group.TARANTULA: 1.30, Group.SCORPION: 1.38, Group.MANTIS: 4 / 3, Group.ROACH: 1.26}
WITHIN_SD = 0.08  # assumption: scatter of an animal's log ratios, a keeper's ruler included
BETWEEN_SD = 0.05  # assumption: scatter of the animals' own means about their kind's


@dataclass(frozen=True)
class Skin:
    """One molt as it was recorded: `step` of the instar after it, sizes in mm, what breaks a series."""

    on: date
    step: int | None = None
    sizes: dict[str, float] = field(default_factory=dict)
    on_skin: bool = False  # the sizes are the shed skin's
    matured: bool = False
    legs_lost: bool = False
    kept: bool | None = None
    record: int | None = None  # the row it came from


@dataclass(frozen=True)
class Size:
    """One size in a series: the instar it belongs to and the molt that tells it."""

    instar: int
    mm: float
    skin: Skin
    on: date  # since when it had this size


@dataclass(frozen=True)
class Series:
    """Sizes of one measure, oldest first, and what was left out with the reason."""

    measure: str
    sizes: tuple[Size, ...]
    left_out: tuple[tuple[Skin, str], ...] = ()

    @property
    def points(self) -> list[Point]:
        """What growth is fitted to."""
        return [(size.instar, size.mm) for size in self.sizes]


@dataclass(frozen=True)
class Missed:
    """Between two recorded sizes more molts must lie than are on record."""

    before: Size
    after: Size
    molts: int


def measures_for(group: Group) -> dict[str, str]:
    """The measures that make sense for a group, each in its own word."""
    return MEASURES.get(group, JUST_BODY)


def usual_ratio(group: Group) -> float:
    """Growth at a molt that is usual for the group."""
    return RATIOS.get(group, PRZIBRAM)


def series_of(skins: Sequence[Skin], measure: str) -> Series:
    """The series of one measure. `skins` in any order."""
    ordered = sorted(skins, key=lambda skin: skin.on)
    instars = _instars(ordered)
    sizes: dict[int, Size] = {}
    left: list[tuple[Skin, str]] = []
    for at, (skin, instar) in enumerate(zip(ordered, instars, strict=True)):
        mm = skin.sizes.get(measure)
        if mm is None:
            continue
        why = _odd(skin, measure)
        own = instar - 1 if skin.on_skin else instar
        if why:
            left.append((skin, why))
        elif own in sizes and skin.on_skin:
            continue  # the animal was measured alive in that instar already
        else:
            before = ordered[at - 1].on if at else skin.on
            sizes[own] = Size(own, mm, skin, before if skin.on_skin else skin.on)
    return Series(measure, tuple(sizes[instar] for instar in sorted(sizes)), tuple(left))


def best_series(skins: Sequence[Skin], group: Group) -> Series:
    """The series with the most sizes; of equals the first of the group's measures, a hard part."""
    found = [series_of(skins, measure) for measure in measures_for(group)]
    return max(found, key=lambda series: len(series.sizes))


def missed_in(series: Series, ratio: float) -> list[Missed]:
    """Where the sizes say that molts are missing from the record, by the ratio that is usual."""
    found = []
    for before, after in zip(series.sizes, series.sizes[1:], strict=False):
        recorded = after.instar - before.instar
        molts = 1 + missed_molts(before.mm, after.mm, ratio) - recorded
        if molts > 0:
            found.append(Missed(before, after, molts))
    return found


def counting_missed(series: Series, ratio: float) -> Series:
    """The same sizes at the instars they have when the molts that are probably missing are counted too."""
    ahead = 0
    hidden = {missed.after.instar: missed.molts for missed in missed_in(series, ratio)}
    sizes = []
    for size in series.sizes:
        ahead += hidden.get(size.instar, 0)
        sizes.append(replace(size, instar=size.instar + ahead))
    return replace(series, sizes=tuple(sizes))


def _odd(skin: Skin, measure: str) -> str:
    if skin.matured and not skin.on_skin:
        return "the molt to maturity changes a male's shape"
    if skin.legs_lost and measure == LEG_SPAN:
        return "legs were lost or growing back"
    return ""


def _instars(ordered: Sequence[Skin]) -> list[int]:
    """An instar for each molt: as recorded where that runs upwards, else one more than the molt before.

    Molts before the first recorded number are counted back from it.
    """
    known = next(((at, skin.step) for at, skin in enumerate(ordered) if skin.step is not None), None)
    start = max(known[1] - known[0], 1) if known else 1
    found: list[int] = []
    for skin in ordered:
        following = found[-1] + 1 if found else start
        found.append(skin.step if skin.step is not None and skin.step >= following else following)
    return found
