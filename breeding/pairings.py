"""From rows to the sac watch: whose sperm a female holds, the keeper's own records of a taxon, her outlook."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Protocol, TypeVar

from breeding import sacwatch
from breeding.models import EggSac, Meeting, Sign
from breeding.sacwatch import SacOutlook, TaxonRecord
from collection import molting
from collection.dates import FuzzyDate
from collection.models import Molt, Specimen
from collection.molting import MoltOutlook
from collection.stages import Group, Stage


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
    """The meetings of one female since her last molt and her last sac: what a sac can be expected from."""

    female_id: int
    meetings: tuple[Meeting, ...]

    @property
    def paired(self) -> FuzzyDate:
        """The last pairing that may have worked; the wait is counted from it."""
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


def inseminations(ids: Sequence[int]) -> dict[int, Insemination]:
    """Of these females, those that hold sperm: paired since the last molt, and no sac since."""
    meetings: dict[int, list[Meeting]] = defaultdict(list)
    rows = Meeting.objects.filter(pairing__female__in=ids).select_related("pairing__male").order_by("earliest", "id")
    for meeting in rows:
        meetings[meeting.pairing.female_id].append(meeting)
    if not meetings:
        return {}
    ends = _resets(list(meetings))
    held = {}
    for pk, met in meetings.items():
        since = tuple(m for m in met if m.latest > ends.get(pk, date.min))
        if since:
            held[pk] = Insemination(pk, since)
    return held


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


def _resets(ids: Iterable[int]) -> dict[int, date]:
    """The day of the last molt or sac of each female: what was paired before it no longer counts."""
    last: dict[int, date] = {}
    events = [
        *Molt.objects.filter(specimen__in=ids).values_list("specimen_id", "earliest", "latest"),
        *EggSac.objects.filter(female__in=ids).values_list("female_id", "earliest", "latest"),
    ]
    for pk, earliest, latest in events:
        day = FuzzyDate(earliest, latest).middle
        last[pk] = max(last.get(pk, date.min), day)
    return last


def taxon_records(taxon_ids: Iterable[int]) -> dict[int, TaxonRecord]:
    """The keeper's own pairings of these taxa that have ended: in a sac, or in a molt without one.

    A pairing still running enters through the days elapsed of the female it concerns, and nowhere else.
    """
    gathered: dict[int, tuple[list[float], list[float]]] = defaultdict(lambda: ([], []))
    meetings = Meeting.objects.filter(pairing__female__taxon__in=list(taxon_ids)).order_by("earliest", "id")
    names = ("pairing__female_id", "pairing__female__taxon_id", "earliest", "latest")
    paired: dict[int, list[Met]] = defaultdict(list)
    for female, taxon, earliest, latest, left, right in meetings.values_list(
        *names, "insertions_left", "insertions_right"
    ):
        insertions = None if left is None and right is None else (left or 0) + (right or 0)
        paired[female].append(Met(taxon, FuzzyDate(earliest, latest).middle, insertions))
    for female, events in ends(list(paired)).items():
        for kind, days, taxon in _spans(paired[female], events):
            gathered[taxon][0 if kind == "sac" else 1].append(days)
    return {
        taxon: TaxonRecord(tuple(sacs), tuple(none), len(sacs), len(none)) for taxon, (sacs, none) in gathered.items()
    }


def ends(ids: list[int]) -> dict[int, list[tuple[date, str]]]:
    """Sacs and molts of each female, in order."""
    found: dict[int, list[tuple[date, str]]] = defaultdict(list)
    for pk, earliest, latest in EggSac.objects.filter(female__in=ids).values_list("female_id", "earliest", "latest"):
        found[pk].append((FuzzyDate(earliest, latest).middle, "sac"))
    for pk, earliest, latest in Molt.objects.filter(specimen__in=ids).values_list("specimen_id", "earliest", "latest"):
        found[pk].append((FuzzyDate(earliest, latest).middle, "molt"))
    return {pk: sorted(days) for pk, days in found.items()}


def _spans(met: list[Met], ends: list[tuple[date, str]]) -> Iterable[tuple[str, float, int]]:
    """Days from the last effective pairing before each end to that end; without a pairing between it says nothing."""
    before = date.min
    for end, kind in ends:
        inside = [meeting for meeting in met if before < meeting.day < end]
        if inside:
            last = max(effective(inside), key=lambda meeting: meeting.day)
            yield kind, float((end - last.day).days), last.taxon_id
        before = end


def outlook_of(
    female: Specimen,
    insemination: Insemination,
    record: TaxonRecord,
    signs: Sequence[str],
    today: date,
    widths: Mapping[str, float] = MappingProxyType({}),
) -> SacOutlook | None:
    """The sac watch of one female on one day; None where the taxon has no figure and the keeper no record.

    `widths`: by how much the windows of sacs and of molts are widened, where they are.
    """
    prior = sacwatch.sac_prior(female.taxon.sac_months_min, female.taxon.sac_months_max)
    if prior is None or insemination.paired.earliest > today:
        return None
    stage = Stage(female.standing.stage)
    grown = Stage.ADULT if stage is Stage.UNKNOWN else stage  # assumption: who is paired is grown
    molts = [molt.when for molt in female.molts.all()]
    molt = molting.outlook(Group(female.taxon.group), grown, molts, widths.get("molt", 1.0))
    return sacwatch.outlook(
        insemination.paired,
        today,
        sacwatch.sac_forecast(prior, record.intervals, record.censored, widths.get("sac", 1.0)),
        sacwatch.success_chance(record, insemination.insertions),
        molt=molt.forecast if molt else None,
        last_molt=molt.last if molt else None,
        signs=signs,
    )


def sac_first(female: Specimen, record: TaxonRecord, day: date) -> tuple[float | None, MoltOutlook | None]:
    """Were she paired on this day: the chance that a sac, if one comes, comes before her molt; and her next molt.

    No chance where the taxon has no figure from pairing to sac; no molt where none of hers is on record.
    """
    stage = Stage.ADULT if female.standing.stage == Stage.UNKNOWN.value else Stage(female.standing.stage)
    molt = molting.outlook(Group(female.taxon.group), stage, [one.when for one in female.molts.all()])
    prior = sacwatch.sac_prior(female.taxon.sac_months_min, female.taxon.sac_months_max)
    if prior is None:
        return None, molt
    sac = sacwatch.sac_forecast(prior, record.intervals, record.censored)
    return sacwatch.sac_before_molt(sac, molt.forecast if molt else None, molt.last if molt else None, day), molt


def recent_signs(ids: Sequence[int], today: date) -> dict[int, list[Sign]]:
    """Signs of the last weeks, newest first."""
    found: dict[int, list[Sign]] = defaultdict(list)
    since = today - timedelta(days=sacwatch.SIGN_DAYS)
    for sign in Sign.objects.filter(female__in=ids, latest__gte=since, earliest__lte=today):
        found[sign.female_id].append(sign)
    return found
