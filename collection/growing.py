"""How an animal grows, from its molts and those of its kind: rows in, plain values for the pages out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from collection import figures, premolt_clues, skins, traces
from collection.comparing import Life, among_mates, among_others, at_same_age
from collection.growth import Cohort, GrowthFit, ShrunkRatio, fit_cohort, fit_growth, log_ratios, shrink_ratio
from collection.instars import SCHEMES, Convention, label, others
from collection.models import Death, Molt, MoltSign, Specimen, Status
from collection.molting import MoltOutlook, expected
from collection.premolt import Premolt, forecast_chance, premolt_days, premolt_likelihood
from collection.premolt_clues import Clues, clue_source
from collection.querysets import HERE
from collection.skins import Missed, Series, Size, Skin
from collection.stages import Group, Stage
from collection.standing import missed_of, molt_outlook

KIN_ROWS = 4000  # molts of the species that are read for a comparison, the newest
HATCHED_WITHIN_DAYS = 31  # assumption: an age is known when the hatching day is known to a month
FEWEST_KIN = 3  # animals before the species has a ratio of its own here
SIGN_DAYS = 30.0  # a sign counts so long where no forecast says how long a premolt is
SHORTEST_SIGN_DAYS = 14.0
GROWN = {Stage.ADULT, Stage.MATURE_MALE}


@clue_source("molt signs")
def own_signs(ids: Sequence[int]) -> dict[int, Clues]:
    """Signs that were logged of the animal itself."""
    found: dict[int, list[tuple[str, date]]] = defaultdict(list)
    if traces.lacks(ids, MoltSign):
        return {}
    for pk, sign, day in MoltSign.objects.filter(specimen__in=ids).values_list("specimen_id", "sign", "latest"):
        found[pk].append((sign, day))
    return {pk: Clues(signs=tuple(signs)) for pk, signs in found.items()}


def premolt_of(specimen: Specimen, seen: MoltOutlook | None, today: date) -> Premolt | None:
    """The chance that it is in premolt today; None for who is not here or molts no more, and with nothing to go by."""
    if specimen.standing.status not in {Status.HERE.value, Status.LOAN_IN.value}:
        return None
    if specimen.standing.stage == Stage.MATURE_MALE.value:
        return None
    clues = premolt_clues.gather([specimen.pk])[specimen.pk]
    signs = recent_signs(clues, seen, today)
    if seen is None and not signs:
        return None
    elapsed = (today - seen.last).days if seen else 0
    return premolt_likelihood(
        forecast_chance(seen.forecast, max(elapsed, 0)) if seen else None,
        clues.refusals,
        signs,
        ate=clues.ate,
        days_since_molt=elapsed if seen and elapsed >= 0 else None,
    )


def recent_signs(clues: Clues, seen: MoltOutlook | None, today: date) -> list[str]:
    """The signs seen since the last molt, and not longer ago than a premolt lasts; the newest first."""
    days = max(premolt_days(seen.forecast), SHORTEST_SIGN_DAYS) if seen else SIGN_DAYS
    since = today - timedelta(days=round(days))
    if seen and seen.last > since:
        since = seen.last + timedelta(days=1)
    fresh = sorted(((day, sign) for sign, day in clues.signs if since <= day <= today), reverse=True)
    return list(dict.fromkeys(sign for _, sign in fresh))


@dataclass(frozen=True)
class MoltRow:
    """One molt as a row: its instar in words, days since the one before, growth in the measure of each size."""

    molt: Molt
    instar: str
    also: list[str]
    days: int | None
    grown: float | None
    sizes: list[tuple[str, float | None]]


def molt_rows(molts: Sequence[Molt], group: Group, measures: Sequence[str]) -> list[MoltRow]:
    """Rows newest first, from molts newest first, with a cell for each measure named."""
    rows = []
    for molt, before in zip(molts, [*molts[1:], None], strict=False):
        text, also = instar_in_words(molt, group)
        days = (molt.when.middle - before.when.middle).days if before else None
        sizes = [(name, getattr(molt, name)) for name in measures]
        rows.append(MoltRow(molt, text, also, days, _grown(molt, before, measures), sizes))
    return rows


def measured_in(molts: Sequence[Molt], group: Group, always: str) -> dict[str, str]:
    """The measures that a table needs columns for: those with a size in it, and the one that is asked for."""
    words = skins.measures_for(group)
    used = {name for name in words if any(getattr(molt, name) is not None for molt in molts)}
    return {name: word for name, word in words.items() if name in used or name == always}


def _grown(molt: Molt, before: Molt | None, measures: Sequence[str]) -> float | None:
    """Growth in the first measure that both have, taken alike."""
    if before is None or molt.on_skin != before.on_skin:
        return None
    pairs = ((getattr(molt, name), getattr(before, name)) for name in measures)
    return next((now / then for now, then in pairs if now and then), None)


def window_of(outlook: MoltOutlook | None, today: date) -> tuple[date, date, date, date] | None:
    """The ends of the four fifths and of the inner half of what is shown of a forecast."""
    outer = expected(outlook, today) if outlook else None
    inner = expected(outlook, today, 0.5) if outlook else None
    return (outer[0], inner[0], inner[2], outer[2]) if outer and inner else None


def growth_figure(
    molts: Sequence[Molt],
    measure: str,
    group: Group,
    today: date,
    outlook: MoltOutlook | None,
    next_size: tuple[float, float, float] | None = None,
) -> figures.Growth | None:
    """The stair of one measure; a size of a shed skin stands at the molt before it."""
    series = skins.series_of([molt.as_skin(group) for molt in molts], measure)
    shown = [(size.on, size.mm, size.skin.kept) for size in series.sizes]
    shown += [(skin.on, skin.sizes[measure], skin.kept) for skin, _ in series.left_out]
    likely = expected(outlook, today) if outlook and next_size else None
    ahead = (likely[1], *next_size) if likely and next_size else None
    return figures.growth(sorted(shown, key=lambda step: step[0]), today, window_of(outlook, today), ahead)


def strip_of(growth: Growth, figure: figures.Growth, today: date) -> tuple[figures.Instar, ...]:
    """The instars of an animal under its stair; where sizes say that a molt is missing, the one before the gap."""
    gaps = {missed.before.skin.on for missed in growth.missed}
    named = [(m.when.middle, m.instar_said(growth.group), m.when.middle in gaps) for m in growth.molts]
    return figures.instar_strip(named, today, figure.scale) if named else ()


@dataclass(frozen=True)
class Kin:
    """What the molts of the species tell: one ratio for all, sizes by instar and by age, of clutch mates and others."""

    cohort: Cohort
    mates: dict[int, list[float]]
    others: dict[int, list[float]]
    mates_lives: list[Life]
    lives: list[Life]


@dataclass(frozen=True)
class Growth:
    """All that the growth page says of one animal."""

    group: Group
    molts: list[Molt]  # oldest first
    series: Series  # the molts that are probably missing are counted in
    fit: GrowthFit
    shrunk: ShrunkRatio
    prior_from: str
    missed: list[Missed]
    outlook: MoltOutlook | None
    next_size: tuple[float, float, float] | None
    among: list[str]

    @property
    def measure(self) -> str:
        """The word of the measure."""
        return skins.measures_for(self.group)[self.series.measure]


def growth_of(specimen: Specimen, today: date) -> Growth:
    """The growth of one animal beside its kind: two queries, whatever the number of molts."""
    group = Group(specimen.taxon.group)
    molts = list(specimen.molts.prefetch_related("photos").order_by("earliest", "id"))
    recorded = skins.best_series([molt.as_skin(group) for molt in molts], group)
    series = skins.counting_missed(recorded, skins.usual_ratio(group))
    kin = _kin(specimen, group, series.measure, today)
    known = kin.cohort.ratio is not None and kin.cohort.animals >= FEWEST_KIN
    prior = kin.cohort.ratio if known and kin.cohort.ratio else skins.usual_ratio(group)
    shrunk = shrink_ratio(log_ratios(series.points), skins.WITHIN_SD, skins.BETWEEN_SD, prior)
    whose = f"{kin.cohort.animals} animals of its species here" if known else "what is usual for its group"
    grown = Stage(specimen.standing.stage) in GROWN
    return Growth(
        group=group,
        molts=molts,
        series=series,
        fit=fit_growth(series.points),
        shrunk=shrunk,
        prior_from=whose,
        missed=missed_of(specimen, molts),
        outlook=molt_outlook(specimen, molts=molts),
        next_size=shrunk.next_size(series.sizes[-1].mm, 0.8) if series.sizes and not grown else None,
        among=_among(series, kin, group) + _at_its_age(specimen, molts, series, kin, today),
    )


def _kin(specimen: Specimen, group: Group, measure: str, today: date) -> Kin:
    """The others of its species, each a series of the same measure at recorded instars."""
    rows = Molt.objects.filter(specimen__taxon=specimen.taxon_id, animals__isnull=True).exclude(specimen=specimen)
    by_animal: dict[Specimen, list[Molt]] = defaultdict(list)
    for molt in rows.select_related("specimen__standing", "specimen__death").order_by("-earliest")[:KIN_ROWS]:
        by_animal[molt.specimen].append(molt)
    mates: dict[int, list[float]] = defaultdict(list)
    others: dict[int, list[float]] = defaultdict(list)
    fitted, lives, mates_lives = [], [], []
    for other, molts in by_animal.items():
        found = [molt.as_skin(group) for molt in molts]
        series = skins.counting_missed(skins.series_of(found, measure), skins.usual_ratio(group))
        fitted.append(series.points)
        mate = bool(specimen.clutch) and other.clutch == specimen.clutch
        if any(skin.step is not None for skin in found):
            for size in series.sizes:
                others[size.instar].append(size.mm)
                if mate:
                    mates[size.instar].append(size.mm)
        life = _life(other, found, series, today)
        if life is not None:
            lives.append(life)
            mates_lives += [life] if mate else []
    return Kin(fit_cohort(fitted), mates, others, mates_lives, lives)


def _life(specimen: Specimen, found: Sequence[Skin], series: Series, today: date) -> Life | None:
    """Its sizes by age; None where its hatching day is not known well enough, or no size is.

    Where sizes say that a molt between two is missing, the first of the two is known for its own day only.
    """
    hatched = specimen.hatched
    if hatched is None or hatched.days > HATCHED_WITHIN_DAYS or not series.sizes:
        return None
    sized = {size.on for size in series.sizes}
    gaps = [
        before.on + timedelta(days=1)
        for before, after in pairwise(series.sizes)
        if after.instar - before.instar > 1 + sum(before.on < skin.on < after.on for skin in found)
    ]
    born, end = hatched.middle, max(_until(specimen, today), max(skin.on for skin in found))
    if min(skin.on for skin in found) < born:
        return None
    steps = tuple(((size.on - born).days, size.mm) for size in series.sizes)
    others = [skin.on for skin in found if skin.on not in sized]
    return Life(steps, (end - born).days, tuple((day - born).days for day in sorted([*others, *gaps])))


def _until(specimen: Specimen, today: date) -> date:
    """The day up to which nothing of it went by unseen: today, its death, or when its next molt is overdue."""
    death: Death | None = getattr(specimen, "death", None)
    if death is not None:
        return min(death.earliest, today)
    standing = specimen.standing
    if standing.status not in HERE:
        return date.min  # its last molt on record, as far as this house knows
    return min(today, standing.molt_ends or today)


def _at_its_age(specimen: Specimen, molts: Sequence[Molt], series: Series, kin: Kin, today: date) -> list[str]:
    """Its place among others of the same age, which grow at their own pace where instars only compare size."""
    if not series.sizes:
        return []
    own = _life(specimen, [molt.as_skin(Group(specimen.taxon.group)) for molt in molts], series, today)
    if own is None:
        return ["Its hatching day is not known to a month, so it is not compared with others of its age."]
    return at_same_age(own, kin.mates_lives, kin.lives)


def _among(series: Series, kin: Kin, group: Group) -> list[str]:
    """Its place among others, at its latest instar that others were measured at too."""
    if not series.sizes:
        return []
    if not any(size.skin.step is not None for size in series.sizes):
        return ["No instar on record, so there is nothing to set its sizes beside."]
    latest = next((size for size in reversed(series.sizes) if kin.others.get(size.instar)), series.sizes[-1])
    at = instar_word(latest, group)
    said = [among_others(latest.mm, kin.others.get(latest.instar, []), at)]
    if kin.mates:
        said.insert(0, among_mates(latest.mm, kin.mates.get(latest.instar, []), at))
    return said


def instar_word(size: Size, group: Group) -> str:
    """The instar of a size in the group's first convention."""
    scheme = next(iter(SCHEMES.get(group, {}).values()), None)
    return scheme.say(size.instar) if scheme else f"instar {size.instar}"


def instar_in_words(molt: Molt, group: Group) -> tuple[str, list[str]]:
    """A molt's instar as it was counted, and in the other conventions."""
    if molt.instar is None:
        return "", []
    convention = Convention(molt.numbering)
    return label(group, molt.instar, convention), others(group, molt.instar, convention)
