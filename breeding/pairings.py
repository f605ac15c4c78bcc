"""From rows to the sac watch: whose sperm a female holds, the keeper's own records of a taxon, her outlook."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache
from types import MappingProxyType
from typing import Protocol, TypeVar

from django.db.models import F, Max, Value

from breeding import sacwatch
from breeding.models import EggSac, Meeting, Sign
from breeding.sacwatch import SacOutlook, TaxonRecord
from breeding.secondclutch import COMMON, LaysAgain, lays_again
from breeding.signs import DEFAULT, SignWeight
from collection import molting
from collection.dates import FuzzyDate
from collection.intervals import IntervalForecast
from collection.models import Molt, Specimen
from collection.molting import MoltOutlook
from collection.querysets import HERE
from collection.stages import Group, Stage
from collection.tabulated import tabulated


class Watched(Protocol):
    """A meeting, and how many insertions were seen; None when nobody could see."""

    @property
    def insertions(self) -> int | None:
        """Both sides together."""
        ...


W = TypeVar("W", bound=Watched)


def effective(meetings: Sequence[W]) -> list[W]:
    """Meetings with insertions seen, or, where none was, those nobody could watch; else all."""
    seen = [meeting for meeting in meetings if meeting.insertions]
    unseen = [meeting for meeting in meetings if meeting.insertions is None]
    return seen or unseen or list(meetings)


@dataclass(frozen=True)
class Met:
    """A meeting as the records of a taxon need it: the day taken for it, and what was seen."""

    taxon_id: int
    day: date
    insertions: int | None


@dataclass(frozen=True)
class Insemination:
    """The meetings of one female since her last molt and her last sac: what a sac can be expected from.

    `laid`: her last sac, where a taxon lays again from one mating and she was not paired since; the wait runs from it.
    """

    female_id: int
    meetings: tuple[Meeting, ...]
    laid: FuzzyDate | None = None

    @property
    def waits_from(self) -> FuzzyDate:
        """The day the wait is counted from: the last pairing that may have worked, or the sac before."""
        return self.laid or self.paired

    @property
    def kind(self) -> str:
        """The kind of forecast it is kept and widened as."""
        return "again" if self.laid else "sac"

    @property
    def paired(self) -> FuzzyDate:
        """The last pairing that may have worked."""
        return self.last.when

    @property
    def last(self) -> Meeting:
        """The last meeting that may have worked."""
        return last_of(self.meetings)

    @property
    def effective(self) -> list[Meeting]:
        """Those that may have worked."""
        return effective(self.meetings)

    @property
    def insertions(self) -> int | None:
        """Insertions seen in all meetings; None when nobody could see any."""
        counts = [meeting.insertions for meeting in self.meetings if meeting.insertions is not None]
        return sum(counts) if counts else None


def last_of(meetings: Sequence[Meeting]) -> Meeting:
    """The last of the meetings that may have worked."""
    return max(effective(meetings), key=lambda meeting: meeting.latest)


@dataclass(frozen=True)
class Past:
    """The molts and the sacs of some females, each as the range of its date."""

    molts: Mapping[int, Sequence[FuzzyDate]]
    sacs: Mapping[int, Sequence[FuzzyDate]]

    def last_molt(self, female: int) -> date:
        """The day of her last molt: what was paired before it no longer counts. Long ago where none is on record."""
        return max((molt.middle for molt in self.molts.get(female, ())), default=date.min)

    def last_sac(self, female: int) -> FuzzyDate | None:
        """Her last sac."""
        return max(self.sacs.get(female, ()), key=lambda sac: sac.middle, default=None)


def pasts(ids: Iterable[int]) -> Past:
    """All molts and sacs of these females, in one question."""
    females = list(ids)
    molts: dict[int, list[FuzzyDate]] = defaultdict(list)
    sacs: dict[int, list[FuzzyDate]] = defaultdict(list)
    when = ("earliest", "latest")
    shed = Molt.objects.filter(specimen__in=females).order_by().values_list("specimen_id", *when, Value(0))
    laid = EggSac.objects.filter(female__in=females).order_by().values_list("female_id", *when, Value(1))
    for pk, earliest, latest, sac in shed.union(laid, all=True) if females else ():
        (sacs if sac else molts)[pk].append(FuzzyDate(earliest, latest))
    return Past(molts, sacs)


def inseminations(ids: Sequence[int], past: Past | None = None) -> dict[int, Insemination]:
    """Of these females, those that hold sperm: paired since the last molt, and no sac since, unless they lay again.

    `past`: their molts and sacs, where somebody has them already.
    """
    meetings: dict[int, list[Meeting]] = defaultdict(list)
    again: dict[int, bool] = {}
    female = "pairing__female"
    rows = Meeting.objects.filter(pairing__female__in=ids).order_by("earliest", "id")
    taxon_name, taxon_group = F(f"{female}__taxon__name"), F(f"{female}__taxon__group")
    for meeting in rows.annotate(of=F(f"{female}_id"), taxon_name=taxon_name, taxon_group=taxon_group):
        meetings[meeting.of].append(meeting)
        again[meeting.of] = lays_again(meeting.taxon_name, Group(meeting.taxon_group)) is not None
    if not meetings:
        return {}
    past = past or pasts(meetings)
    found = {pk: _held(pk, met, past.last_molt(pk), past.last_sac(pk), again[pk]) for pk, met in meetings.items()}
    return {pk: one for pk, one in found.items() if one is not None}


def _held(pk: int, met: Sequence[Meeting], molted: date, laid: FuzzyDate | None, again: bool) -> Insemination | None:
    """What one female holds; a sac ends it, or where the taxon lays again, begins the wait for the next."""
    since = tuple(m for m in met if m.latest > molted)
    if laid is None or laid.middle <= molted:
        return Insemination(pk, since) if since else None
    after = tuple(m for m in since if m.latest > laid.middle)
    if after or not again or not since:
        return Insemination(pk, after) if after else None
    return Insemination(pk, since, laid)


def possible_sires(sac: EggSac) -> list[Specimen | None]:
    """The males that may have sired a sac: of its pairing, and of all effective meetings since her last molt before it.

    None stands for a male that nobody knows.
    """
    molted = sac.female.molts.filter(latest__lte=sac.latest).order_by("-latest").first()
    met = Meeting.objects.filter(pairing__female=sac.female_id, earliest__lte=sac.latest).select_related(
        "pairing__male"
    )
    if molted is not None:
        met = met.filter(latest__gt=molted.earliest)
    found = [meeting.pairing.male for meeting in effective(list(met.order_by("earliest", "id")))]
    if sac.pairing is not None:
        found.append(sac.pairing.male)
    return list(dict.fromkeys(found))


@dataclass
class _Tally:
    """The records of one taxon while they are gathered."""

    sacs: list[float] = field(default_factory=list)
    without: list[float] = field(default_factory=list)
    cut_short: list[float] = field(default_factory=list)
    running: list[tuple[int, float]] = field(default_factory=list)

    def add(self, kind: str, female: int, days: float) -> None:
        """One wait and how it stands."""
        {"sac": self.sacs, "molt": self.without, "gone": self.cut_short}.get(kind, []).append(days)
        if kind == "waits" and days > 0:
            self.running.append((female, days))

    def record(self, again: TaxonRecord | None = None) -> TaxonRecord:
        """What the sac watch needs of them; a wait that death or leaving cut short is no failure."""
        censored = (*self.without, *(days for days in self.cut_short if days > 0))
        return TaxonRecord(
            tuple(self.sacs), censored, len(self.sacs), len(self.without), tuple(sorted(self.running)), again
        )


def taxon_records(taxon_ids: Iterable[int], today: date) -> dict[int, TaxonRecord]:
    """The keeper's own pairings of these taxa: ended in a sac, in a molt without one, by death or leaving, or running.

    Of taxa that lay again from one mating, the waits from one sac to the next as well.
    """
    return records_and_past(taxon_ids, today)[0]


def records_and_past(taxon_ids: Iterable[int], today: date) -> tuple[dict[int, TaxonRecord], Past]:
    """The same, and the molts and sacs of all females of these taxa that were ever paired."""
    met, stands, again = _met(taxon_ids, today)
    past = pasts(met)
    first: dict[int, _Tally] = defaultdict(_Tally)
    second: dict[int, _Tally] = defaultdict(_Tally)
    for female, meetings in met.items():
        events = [*_ends(past, female), stands[female]]
        for kind, days, taxon in _spans(meetings, events):
            first[taxon].add(kind, female, days)
        if again[female]:
            for kind, days, taxon in _seconds(meetings, events):
                second[taxon].add(kind, female, days)
    records = {
        taxon: tally.record(second[taxon].record() if taxon in second else None) for taxon, tally in first.items()
    }
    return records, past


Stands = tuple[date, str]


def _met(taxon_ids: Iterable[int], today: date) -> tuple[dict[int, list[Met]], dict[int, Stands], dict[int, bool]]:
    """All meetings of these taxa by female, how each female stands today, and whether she lays again."""
    found: dict[int, list[Met]] = defaultdict(list)
    stands: dict[int, Stands] = {}
    again: dict[int, bool] = {}
    meetings = Meeting.objects.filter(pairing__female__taxon__in=list(taxon_ids)).order_by("earliest", "id")
    female = "pairing__female"
    rows = meetings.annotate(left=Max(f"{female}__departures__on")).values_list(
        f"{female}_id", f"{female}__taxon_id", "earliest", "latest", "insertions_left", "insertions_right",
        f"{female}__standing__status", f"{female}__death__earliest", "left",
        f"{female}__taxon__name", f"{female}__taxon__group",
    )  # fmt: skip
    for pk, taxon, earliest, latest, one, other, status, died, left, name, group in rows:
        insertions = None if one is None and other is None else (one or 0) + (other or 0)
        found[pk].append(Met(taxon, FuzzyDate(earliest, latest).middle, insertions))
        gone = died or left or today
        stands[pk] = (today, "waits") if status in HERE else (min(gone, today), "gone")
        again[pk] = lays_again(name, Group(group)) is not None
    return found, stands, again


def ends(ids: list[int]) -> dict[int, list[tuple[date, str]]]:
    """Sacs and molts of each female, in order."""
    past = pasts(ids)
    return {pk: _ends(past, pk) for pk in ids}


def _ends(past: Past, female: int) -> list[tuple[date, str]]:
    """What ended her waits, in order."""
    days = [(sac.middle, "sac") for sac in past.sacs.get(female, ())]
    return sorted(days + [(molt.middle, "molt") for molt in past.molts.get(female, ())])


def _spans(met: list[Met], ends: list[tuple[date, str]]) -> Iterable[tuple[str, float, int]]:
    """Days from the last effective pairing before each end to that end; without a pairing between it says nothing."""
    before = date.min
    for end, kind in ends:
        inside = [meeting for meeting in met if before < meeting.day < end]
        if inside:
            last = max(effective(inside), key=lambda meeting: meeting.day)
            yield kind, float((end - last.day).days), last.taxon_id
        before = end


def _seconds(met: list[Met], ends: list[tuple[date, str]]) -> Iterable[tuple[str, float, int]]:
    """Days from a sac to the next event of a female that was paired before it and not again."""
    paired = False
    laid: date | None = None
    before = date.min
    for end, kind in ends:
        inside = [meeting for meeting in met if before < meeting.day < end]
        if inside:
            laid = None
        elif laid is not None and end > laid:
            yield kind, float((end - laid).days), met[-1].taxon_id
        paired = bool(inside) or (paired and kind == "sac")
        laid = end if kind == "sac" and paired else None
        before = end


@dataclass(frozen=True)
class Clock:
    """The wait of one female for a sac: since when, its forecast, the belief that it comes, and what these rest on."""

    since: FuzzyDate
    forecast: IntervalForecast
    chance: float
    record: TaxonRecord
    again: LaysAgain | None = None


def clock_of(female: Specimen, one: Insemination, record: TaxonRecord, widened: float = 1.0) -> Clock | None:
    """The clock of a female that holds sperm; None where the taxon has no figure."""
    taxon = female.taxon
    again = lays_again(taxon.name, Group(taxon.group)) if one.laid else None
    months = (again.months_min, again.months_max) if again else (taxon.sac_months_min, taxon.sac_months_max)
    prior = sacwatch.sac_prior(*months)
    if prior is None:
        return None
    own = ((record.again or TaxonRecord()) if again else record).for_female(female.pk, prior)
    forecast = sacwatch.sac_forecast(prior, own.intervals, own.censored, widened)
    belief = sacwatch.success_chance(own, None, COMMON) if again else sacwatch.success_chance(own, one.insertions)
    return Clock(one.waits_from, forecast, belief, own, again)


def molt_of(female: Specimen, widened: float = 1.0, molts: Sequence[FuzzyDate] | None = None) -> MoltOutlook | None:
    """Her next molt by her own molts; a female that was paired is grown, whatever is known of her size.

    `molts`: hers, where somebody has them already.
    """
    stage = Stage(female.standing.stage)
    grown = Stage.ADULT if stage is Stage.UNKNOWN else stage  # assumption: who is paired is grown
    known = molts if molts is not None else [molt.when for molt in female.molts.all()]
    return _molt_outlook(Group(female.taxon.group), grown, tuple(sorted(known)), widened)


@lru_cache(maxsize=256)
def _molt_outlook(group: Group, stage: Stage, molts: tuple[FuzzyDate, ...], widened: float) -> MoltOutlook | None:
    """The forecast as a table; kept, because the dashboard asks for the same again and again."""
    found = molting.outlook(group, stage, molts, widened)
    return replace(found, forecast=tabulated(found.forecast)) if found else None


def outlook_of(
    female: Specimen,
    insemination: Insemination,
    record: TaxonRecord,
    signs: Sequence[str],
    today: date,
    widths: Mapping[str, float] = MappingProxyType({}),
    weights: Mapping[str, SignWeight] = DEFAULT,
) -> SacOutlook | None:
    """The sac watch of one female on one day; None where the taxon has no figure.

    `widths`: by how much the windows of sacs and of molts are widened, where they are.
    """
    clock = clock_of(female, insemination, record, widths.get(insemination.kind, 1.0))
    if clock is None or clock.since.earliest > today:
        return None
    return race_of(clock, molt_of(female, widths.get("molt", 1.0)), signs, today, weights)


def race_of(
    clock: Clock,
    molt: MoltOutlook | None,
    signs: Sequence[str],
    today: date,
    weights: Mapping[str, SignWeight] = DEFAULT,
) -> SacOutlook:
    """The race of the two clocks on one day, moved by the signs."""
    return sacwatch.outlook(
        clock.since,
        today,
        clock.forecast,
        clock.chance,
        molt=molt.forecast if molt else None,
        last_molt=molt.last if molt else None,
        signs=signs,
        weights=weights,
    )


def sac_first(female: Specimen, record: TaxonRecord, day: date) -> tuple[float | None, MoltOutlook | None]:
    """Were she paired on this day: the chance that a sac, if one comes, comes before her molt; and her next molt.

    No chance where the taxon has no figure from pairing to sac; no molt where none of hers is on record.
    """
    molt = molt_of(female)
    prior = sacwatch.sac_prior(female.taxon.sac_months_min, female.taxon.sac_months_max)
    if prior is None:
        return None, molt
    own = record.for_female(female.pk, prior)
    sac = sacwatch.sac_forecast(prior, own.intervals, own.censored)
    return sacwatch.sac_before_molt(sac, molt.forecast if molt else None, molt.last if molt else None, day), molt


def recent_signs(ids: Sequence[int], today: date) -> dict[int, list[Sign]]:
    """Signs of the last weeks, newest first."""
    found: dict[int, list[Sign]] = defaultdict(list)
    since = today - timedelta(days=sacwatch.SIGN_DAYS)
    for sign in Sign.objects.filter(female__in=ids, latest__gte=since, earliest__lte=today):
        found[sign.female_id].append(sign)
    return found
