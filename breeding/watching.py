"""From rows to the sac watch as it is shown: each paired female with her race, her figure, and why her chance is so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import QuerySet
from django.db.models.fields.json import KT

from breeding import meetwords, pairings, sacwatch, signs, watchwords
from breeding.hold_words import guarded_until
from breeding.models import EggSac, Sign
from breeding.models.signs import weights_in_force
from breeding.pairings import Clock, Insemination
from breeding.ridges import Ridge, ridge
from breeding.sacwatch import SacOutlook, TaxonRecord
from breeding.secondclutch import COMMON
from breeding.signs import SignWeight
from breeding.watchwords import Phase, WatchWords
from collection.dates import FuzzyDate, say_date
from collection.figures import Scale
from collection.intervals import IntervalForecast
from collection.models import Due, ForecastWidth, Specimen
from collection.molting import MoltOutlook
from collection.stages import Group


def axis(today: date) -> Scale:
    """The time axis of the figures: seven months back and seven ahead."""
    return Scale(today - timedelta(days=215), today + timedelta(days=210))


class Seen(NamedTuple):
    """A sign on a female, in the words of her group."""

    kind: str
    word: str
    latest: date


class Reason(NamedTuple):
    """One step from the taxon to her own chance: what, in words, and the chance within 30 days after it."""

    what: str
    says: str
    chance: float | None


@dataclass(frozen=True)
class Bar:
    """Where the wait stands on the axis, in per cent: its start, window, its likelier half, today."""

    paired: float
    opens: float
    width: float
    likely: float
    likely_width: float
    today: float


@dataclass(frozen=True)
class Waiting:
    """One paired female with her outlook, the signs of the last weeks, her figure, and what to do now."""

    female: Specimen
    one: Insemination
    clock: Clock
    molt: MoltOutlook | None
    outlook: SacOutlook
    signs: list[Seen]
    phase: Phase
    advice: str
    words: WatchWords
    today: date
    weights: dict[str, SignWeight]
    basis: str  # where the taxon's figure comes from

    @property
    def since(self) -> FuzzyDate:
        """The day the wait is counted from."""
        return self.clock.since

    @property
    def word(self) -> str:
        """What she is expected to bring."""
        return self.words.noun

    @property
    def molts_on(self) -> bool:
        """Whether the grown of her group molt again."""
        return Group(self.female.taxon.group) in watchwords.MOLT_ON

    @property
    def again(self) -> str:
        """That it would be a second one of the same mating, and on what that rests; empty otherwise."""
        return self.clock.again.basis if self.clock.again else ""

    def bar(self) -> Bar:
        """Her window as a bar, for a narrow panel."""
        scale, seen = axis(self.today), self.outlook
        opens, likely = scale.at(seen.opens), scale.at(seen.likely_from)
        return Bar(
            paired=scale.at(self.since.middle),
            opens=opens,
            width=round(scale.at(seen.closes) - opens, 2),
            likely=likely,
            likely_width=round(scale.at(seen.likely_until) - likely, 2),
            today=scale.at(self.today),
        )

    def ridge(self) -> Ridge:
        """Her figure; worked out where it is shown."""
        molt = (self.molt.forecast, self.molt.last) if self.molt else (None, None)
        clocks = sacwatch.clocks(self.since, self.clock.forecast, self.clock.chance, *molt)
        seen = [(sign.latest, sign.word) for sign in reversed(self.signs)]
        return ridge(clocks, self.since, self.outlook, axis(self.today), self.today, seen)

    def reasons(self) -> list[Reason]:
        """Why her chance is what it is, step by step."""
        return list(_reasons(self))


def waiting(dues: QuerySet[Due], today: date) -> Iterator[Waiting]:
    """The outlooks of these paired females, in the order of the stored dues; each is worked out when asked for."""
    order = list(dues.values_list("specimen_id", flat=True))
    shown = Specimen.objects.filter(pk__in=order).for_display()
    found = shown.annotate(basis=KT("taxon__sources__sac_months_min")).in_bulk()
    records, past = pairings.records_and_past({female.taxon_id for female in found.values()}, today)
    held = pairings.inseminations(order, past)
    seen = pairings.recent_signs(order, today)
    widths, weights = ForecastWidth.objects.factors(), weights_in_force()
    guarding = _guarding([pk for pk, one in held.items() if one.laid], today)
    for pk in order:
        female, one = found[pk], held.get(pk)
        record = records.get(female.taxon_id, TaxonRecord())
        clock = pairings.clock_of(female, one, record, widths.get(one.kind, 1.0)) if one else None
        if one is None or clock is None or clock.since.earliest > today:
            continue
        group, said = Group(female.taxon.group), _since(seen.get(pk, []), clock.since)
        molt = pairings.molt_of(female, widths.get("molt", 1.0), past.molts.get(pk, ()))
        outlook = pairings.race_of(clock, molt, [sign.kind for sign in said], today, weights)
        phase = watchwords.phase_of(outlook, today, pk in guarding)
        yield Waiting(
            female, one, clock, molt, outlook,
            [Seen(sign.kind, signs.word_of(sign.kind, group), sign.latest) for sign in said],
            phase, watchwords.advice(outlook, today, group, pk in guarding), watchwords.words_of(group), today,
            dict(weights), female.basis or "",  # type: ignore[attr-defined]
        )  # fmt: skip


def _since(seen: Sequence[Sign], start: FuzzyDate) -> list[Sign]:
    """Signs seen since the wait began: what was seen before belongs to another."""
    return [sign for sign in seen if sign.latest >= start.earliest]


def _guarding(ids: Sequence[int], today: date) -> set[int]:
    """Of these females, those that still sit with a brood."""
    sacs = EggSac.objects.filter(female__in=ids).select_related("female__taxon") if ids else []
    return {
        sac.female_id for sac in sacs if (until := guarded_until(sac)) is not False and (until is None or until > today)
    }


def _reasons(row: Waiting) -> Iterator[Reason]:
    """Species alone, then the keeper's own records, then her pairing, then her signs, then what may come instead."""
    taxon, clock, own = row.female.taxon, row.clock, row.clock.record
    again, record = clock.again, TaxonRecord()
    months = (again.months_min, again.months_max) if again else (taxon.sac_months_min, taxon.sac_months_max)
    prior = sacwatch.sac_prior(*months)
    if prior is None:
        return
    belief = COMMON if again else sacwatch.SUCCESS
    usual = sacwatch.success_chance(record, None, belief)
    bare = sacwatch.sac_forecast(prior)
    source = again.basis if again else row.basis or taxon.source or "no source named"
    source = source.rstrip(".")
    span = (
        f"{months[0]:g} to {months[1]:g} months, {round(usual * 100)} % of pairings taken to end in {row.words.brood}"
    )
    yield Reason("The taxon", f"{span} ({source})", _month(row, bare, usual))
    if own.intervals or own.censored:
        chance = sacwatch.success_chance(own, None, belief)
        yield Reason("Your own records", say_record(own, row.words.brood), _month(row, clock.forecast, chance))
    else:
        yield Reason("Your own records", "none of this taxon yet", None)
    yield Reason(*_pairing(row), _month(row, clock.forecast, clock.chance))
    yield Reason("Her molt", _molt(row), row.outlook.plain.first_a if row.outlook.plain else None)
    counted = signs.counting(sign.kind for sign in row.signs)
    for kind in counted:
        if kind in row.weights:
            weight, word = row.weights[kind], next(sign.word for sign in row.signs if sign.kind == kind)
            yield Reason(word.capitalize(), f"odds × {weight.ratio:g}: {weight.why}", None)
    if counted:
        yield Reason("All signs", f"odds × {row.outlook.ratio:.2g}", row.outlook.month.first_a)


def _month(row: Waiting, forecast: IntervalForecast, chance: float) -> float:
    """Chance of a brood within 30 days by this forecast alone, no molt in the way: closed form, cheap."""
    comes, _ = sacwatch.clocks(row.since, forecast, chance, None, None)
    elapsed = float(max((row.today - row.since.middle).days, 0))
    left = float(comes(elapsed)) if elapsed else 1.0
    return 1 - float(comes(elapsed + sacwatch.SIGN_DAYS)) / left if left > 0 else 0.0


def say_record(own: TaxonRecord, brood: str) -> str:
    """The keeper's own records of a taxon in one sentence: how many, how long, how many failed, how many run."""
    noun = brood.removeprefix("a ").removeprefix("an ")
    parts = []
    if own.intervals:
        days = ", ".join(f"{days:g}" for days in sorted(own.intervals)[:8])
        parts.append(
            f"{len(own.intervals)} that ended in {brood} after {days}{'…' if len(own.intervals) > 8 else ''} days"
        )
    if own.failures:
        parts.append(f"{own.failures} that ended without {noun if noun == 'eggs' else 'one'}")
    others = len(own.censored) - own.failures
    if others > 0:
        parts.append(f"{others} still running or cut short, counted as not yet")
    return "; ".join(parts)


def _pairing(row: Waiting) -> tuple[str, str]:
    if row.one.laid:
        return (
            f"Brood of {say_date(row.one.laid, row.today)}",
            f"paired {say_date(row.one.paired, row.today)}, not molted since",
        )
    met, said = len(row.one.meetings), meetwords.words_of(Group(row.female.taxon.group)).say(row.one.insertions)
    times = f" in {met} meetings" if met > 1 else ""
    return f"Pairing of {say_date(row.one.paired, row.today)}", said + times


def _molt(row: Waiting) -> str:
    if row.molt is None:
        none = "none on record" if row.molts_on else "grown, she molts no more"
        return f"{none}, so only the wait itself is forecast"
    own = row.molt.own_intervals
    basis = f"{own} of her own interval{'' if own == 1 else 's'}" if own else "the usual range"
    return f"likeliest around {say_date(row.molt.likely, row.today)} by {basis}; it would end the wait"
