"""From rows to a clutch's page: stages by the warmth it had, the books of its heads, when to take it, its outcome."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from breeding import development, ledger, meetwords
from breeding.broodwords import BroodWords, words_of
from breeding.development import NoForecast, StageWindow
from breeding.models import BroodMember, BroodShare, EggSac, HeadCount
from breeding.pairings import inseminations
from breeding.secondclutch import lays_again
from collection.dates import say_date
from collection.models import Departure
from collection.stages import Group
from husbandry.models import Posting, Reading

ASSUMED = 26.0  # °C, where nothing is on record: said so wherever it is used
WITH_HER = ("carried", "fixed", "guarded")
TAKEN_AT = "ewl"
CHECK_DAYS = 3  # assumption: a sac in the incubator is looked at so often
TOO_WARM, TOO_COLD, TOO_DAMP = development.WARMEST, development.COLDEST, 95.0


@dataclass(frozen=True)
class Warmth:
    """The temperature a forecast goes by, in words as well, and what measured days were worth."""

    celsius: float
    says: str
    days: dict[date, float]


LOST = {one.value for one in EggSac.Outcome} - {EggSac.Outcome.HATCHED.value, EggSac.Outcome.UNKNOWN.value}


def another(sac: EggSac) -> str:
    """That another one may follow of the same mating, where she is waited on for it."""
    taxon = sac.female.taxon
    again = lays_again(taxon.name, Group(taxon.group))
    held = inseminations([sac.female_id]).get(sac.female_id) if again else None
    if again is None or held is None or held.laid != sac.when:
        return ""
    return f"Another may follow of the same mating: {again.basis}."


def words(sac: EggSac) -> BroodWords:
    """The words of the female's group."""
    return words_of(Group(sac.female.taxon.group))


def warmth_of(sac: EggSac) -> Warmth:
    """What the keeper entered, the looks into the sac, and the readings of the sensor at its place."""
    days = {check.latest: development.pace_at(check.celsius) for check in sac.checks.all() if check.celsius is not None}
    days |= _measured(sac)
    if sac.celsius is not None:
        return Warmth(sac.celsius, f"kept at {sac.celsius:g} °C", days)
    return Warmth(ASSUMED, f"no temperature on record, {ASSUMED:g} °C assumed", days)


def _measured(sac: EggSac) -> dict[date, float]:
    """Days with readings of the sensor where the sac stands, since it was taken, or laid, until it ended.

    What the sensor measured after it was hung elsewhere was not the warmth of this sac.
    """
    if sac.place_id is None:
        return {}
    posting = Posting.objects.filter(place=sac.place_id).order_by("-since").first()
    if posting is None:
        return {}
    zone = timezone.get_current_timezone()
    begins = datetime.combine(sac.taken_on or sac.earliest, time.min, zone)
    begins = max(begins, posting.since)
    rows = Reading.objects.filter(sensor=posting.sensor_id, at__gte=int(begins.timestamp()), celsius__isnull=False)
    moved = Posting.objects.filter(sensor=posting.sensor_id, since__gt=posting.since).order_by("since").first()
    ended = datetime.combine(sac.ended_on + timedelta(days=1), time.min, zone) if sac.ended_on else None
    for until in (moved.since if moved else None, ended):
        rows = rows.filter(at__lt=int(until.timestamp())) if until else rows
    found: dict[date, list[float]] = defaultdict(list)
    for at, celsius in rows.values_list("at", "celsius"):
        found[datetime.fromtimestamp(at, zone).date()].append((celsius or 0) / 100)  # stored in hundredths
    return {day: development.pace_of_day(readings) for day, readings in found.items()}


def own_paces(taxon_id: int, but: int | None = None) -> dict[str, list[float]]:
    """Days at 26 °C from laying to each stage in the keeper's own sacs of a taxon, as their counts say."""
    counts = HeadCount.objects.filter(sac__female__taxon=taxon_id, alive__gt=0).exclude(sac=but)
    first: dict[tuple[int, str], HeadCount] = {}
    for count in counts.select_related("sac").order_by("-earliest", "-id"):
        first[count.sac_id, count.stage] = count
    found: dict[str, list[float]] = defaultdict(list)
    for (_, stage), count in first.items():
        days = (count.when.middle - count.sac.when.middle).days
        if stage != "egg" and days > 0:
            found[stage].append(days * development.pace_at(count.sac.celsius or ASSUMED))
    return dict(found)


def forecast(sac: EggSac, warmth: Warmth) -> list[StageWindow] | NoForecast:
    """When each stage is reached."""
    own = own_paces(sac.female.taxon_id, sac.pk)
    when = (sac.earliest, sac.latest)
    return development.stage_windows(when, _pace_of(sac), warmth.celsius, warmth.days, own, seen_in(sac))


def seen_in(sac: EggSac) -> tuple[str, date] | None:
    """The furthest stage that at least half of the clutch was counted in, and the day it was first so."""
    order = [value for value, _ in words(sac).stages]
    days: dict[date, dict[str, int]] = defaultdict(dict)
    for count in sac.head_counts.all():
        days[count.latest][count.stage] = days[count.latest].get(count.stage, 0) + count.alive
    found: tuple[str, date] | None = None
    for day in sorted(days):
        alive = sum(days[day].values())
        half = [stage for stage in order if days[day].get(stage, 0) * 2 >= alive > 0]
        if half and (found is None or order.index(half[-1]) > order.index(found[0])):
            found = (half[-1], day)
    return found


def usual_windows(sac: EggSac) -> list[StageWindow] | NoForecast:
    """The same from what is stored with the sac alone: what stored due dates go by."""
    return development.stage_windows((sac.earliest, sac.latest), _pace_of(sac), sac.celsius or ASSUMED)


def _pace_of(sac: EggSac) -> development.Pace | None:
    taxon = sac.female.taxon
    return development.pace_of(taxon.name.split()[0], (taxon.emergence_weeks_min, taxon.emergence_weeks_max))


# ------------------------------------------------------------ when to take it


@dataclass(frozen=True)
class Taking:
    """Whether and when a sac is taken from her, in a sentence."""

    sentence: str
    opens: date | None = None
    closes: date | None = None
    early: bool = False


def taking(sac: EggSac, windows: list[StageWindow] | NoForecast, today: date) -> Taking | None:
    """The trade's window for taking a sac, with the warning for taking it early; None where nothing is to take."""
    if sac.kind not in WITH_HER or sac.taken_on is not None or sac.outcome or isinstance(windows, NoForecast):
        return None
    by_stage = {window.stage: window for window in windows}
    legs, young = by_stage.get(TAKEN_AT), by_stage.get("spiderling")
    if legs is None or young is None:
        return None
    if sac.kind == EggSac.Kind.FIXED.value:
        return Taking("A sac fixed in the web is usually left with her; she guards it until the young come out.")
    if sac.kind == EggSac.Kind.GUARDED.value:
        return Taking("The brood is left with her. Disturbed, she may eat it.")
    opens, closes = legs.likely, young.opens
    if today < opens:
        early = today >= legs.opens
        sentence = (
            f"Not yet: legs are likely from {say_date(opens, today)} on. Eggs taken earlier must be turned several "
            "times a day until legs show, and more of them are lost."
        )
        return Taking(sentence, opens, closes, early)
    if today <= closes:
        return Taking(
            f"It can be taken: most should have legs by now, and none is out before {say_date(closes, today)}. "
            "Later is safer for an incubator that holds its warmth badly.",
            opens,
            closes,
        )
    return Taking(f"Young may be out since {say_date(closes, today)}: look before you open it.", opens, closes)


# ------------------------------------------------------------ what is wrong with it


def alarms(celsius: float | None, humidity: float | None, look: str = "") -> list[str]:
    """What a reading or a look at a sac says that calls for something, in sentences."""
    said = []
    if celsius is not None and celsius > TOO_WARM:
        said.append(f"{celsius:g} °C: at 32 °C and above embryos die. Cool it at once.")
    if celsius is not None and celsius < TOO_COLD:
        said.append(f"{celsius:g} °C: below {TOO_COLD:g} °C development stalls.")
    if humidity is not None and humidity > TOO_DAMP:
        said.append(f"{humidity:g} % humidity: close to saturation fungus takes clutches. Let air in; eggs never wet.")
    if look == "mould":
        said.append("Mould or a smell was seen: part the sound eggs from the rest, with clean tools.")
    if look == "dented":
        said.append("Dented eggs are too dry: dampen the pad below, never the eggs.")
    if look == "wet":
        said.append("Wet eggs rot: dry the pad and let air in.")
    return said


# ------------------------------------------------------------ the books


def keep_books(sac: EggSac) -> ledger.Books | None:
    """The books of a sac from its counts and from what was taken out."""
    counts = [
        ledger.Count(c.latest, c.stage, c.alive, c.dead, c.cause, c.how == "counted") for c in sac.head_counts.all()
    ]
    out = [ledger.Leaving(m.on, m.number, "taken out") for m in sac.members.all()]
    return ledger.books(counts, out)


def funnel(sac: EggSac, books: ledger.Books, stages: BroodWords) -> list[ledger.Step]:
    """From the opening count through the stages that were counted to the young with codes of their own."""
    order = [value for value, _ in stages.stages]
    reached: dict[str, int] = {}
    for line in books.lines:
        for index, value in enumerate(order):
            here = sum(line.stages.get(later, 0) for later in order[index:])
            if any(line.stages.get(later) for later in order[index:]):
                reached[value] = max(reached.get(value, 0), here)
    steps = [("at the opening count", books.opening)]
    steps += [(stages.labels[value], reached[value]) for value in order[1:] if value in reached]
    if books.left:
        steps.append(("taken out", books.left))
    return ledger.funnel(steps)


# ------------------------------------------------------------ who gets what


@dataclass(frozen=True)
class Owed:
    """A share with what it comes to: of all that was taken out, how many are theirs, delivered, still owed."""

    share: BroodShare
    number: int
    delivered: int

    @property
    def owed(self) -> int:
        """Still to deliver."""
        return max(self.number - self.delivered, 0)


def shares_of(sac: EggSac) -> list[Owed]:
    """Every share of a brood. What was passed on to its holder counts as delivered."""
    return shares_among([sac])[sac.pk]


def shares_among(sacs: Sequence[EggSac]) -> dict[int, list[Owed]]:
    """The shares of several broods; one query beside what the sacs bring along."""
    members = {member.specimen_id: member for sac in sacs for member in sac.members.all()}
    gone = Departure.objects.filter(specimen__in=members, kind=Departure.Kind.PASSED_ON.value, contact__isnull=False)
    delivered: dict[tuple[int, int | None], int] = defaultdict(int)
    for specimen, contact in gone.values_list("specimen_id", "contact_id"):
        delivered[members[specimen].sac_id, contact] += members[specimen].number
    found = {}
    for sac in sacs:
        rows = list(sac.shares.all())
        total = sum(member.number for member in sac.members.all())
        numbers = ledger.shares(total, [row.percent for row in rows], [row.odd_is_theirs for row in rows])
        found[sac.pk] = [
            Owed(row, number, delivered[sac.pk, row.to_id]) for row, number in zip(rows, numbers, strict=True)
        ]
    return found


# ------------------------------------------------------------ what was different


@dataclass(frozen=True)
class Difference:
    """One fact of a sac beside the same of those that hatched."""

    what: str
    here: str
    worked: str


def differences(sac: EggSac) -> tuple[list[Difference], int]:
    """What was different from the sacs of this taxon that hatched, and how many of those there are."""
    worked = EggSac.objects.filter(female__taxon=sac.female.taxon_id, outcome=EggSac.Outcome.HATCHED.value)
    others = list(worked.exclude(pk=sac.pk).prefetch_related("pairing__meetings"))
    group = Group(sac.female.taxon.group)
    mine = _facts(sac, group)
    theirs = [_facts(other, group) for other in others]
    found = []
    for what, value in mine.items():
        known = sorted(fact for facts in theirs if (fact := facts[what]) is not None)
        found.append(Difference(what, _say(value), _range(known)))
    return found, len(others)


def _facts(sac: EggSac, group: Group) -> dict[str, float | None]:
    meetings = list(sac.pairing.meetings.all()) if sac.pairing else []
    seen = [meeting.insertions for meeting in meetings if meeting.insertions is not None]
    last = max((meeting.when.middle for meeting in meetings if meeting.earliest <= sac.latest), default=None)
    return {
        f"days from the last meeting to the {words_of(group).brood}": (sac.when.middle - last).days if last else None,
        "meetings": len(meetings) or None,
        meetwords.words_of(group).field: sum(seen) if seen else None,
        "taken after, days": (sac.taken_on - sac.when.middle).days if sac.taken_on else None,
        "kept at, °C": sac.celsius,
    }


def _say(value: float | None) -> str:
    return "not on record" if value is None else f"{value:g}"


def _range(known: Sequence[float]) -> str:
    if not known:
        return "not on record"
    return f"{known[0]:g}" if known[0] == known[-1] else f"{known[0]:g} to {known[-1]:g}"


def left_with_us(members: Iterable[BroodMember]) -> int:
    """Heads of the young that are still here and alive; of a group as many as were counted last."""
    here = [m for m in members if m.specimen.standing.status == "here"]
    return sum(1 if m.number == 1 else m.specimen.standing.head_count for m in here)


def say_made(members: Sequence[BroodMember]) -> str:
    """How the young were housed: 180 in 123 with codes of their own, 120 singles and groups of 25, 25 and 10."""
    groups = [str(m.number) for m in members if m.number > 1]
    singles = len(members) - len(groups)
    parts = [f"{singles} single{'' if singles == 1 else 's'}"] if singles else []
    if groups:
        last = f" and {groups[-1]}" if len(groups) > 1 else groups[-1]
        parts.append(f"{'groups' if len(groups) > 1 else 'a group'} of {', '.join(groups[:-1])}{last}")
    return f"{sum(m.number for m in members)} taken out under codes of their own: {' and '.join(parts)}"


def ahead(day: date, days: int = CHECK_DAYS) -> date:
    """The next look after one on this day."""
    return day + timedelta(days=days)
