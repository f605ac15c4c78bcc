"""What breeding wants noticed: females due to build a sac."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice

from django.db.models import Q, QuerySet

from breeding import pairings, sacwatch
from breeding.models import Pairing, Sign
from breeding.sacwatch import SacOutlook, TaxonRecord
from collection import attention
from collection.attention import Action, BesidePanel, DueKind, Said, StoredDue, Urgency
from collection.dates import FuzzyDate, say_date
from collection.figures import Scale
from collection.forecasting import say_widened
from collection.models import Due, ForecastWidth, Specimen
from collection.stages import Group

BESIDE = 6
BROOD_WORDS = {
    Group.TARANTULA: "a sac",
    Group.TRUE_SPIDER: "a sac",
    Group.WHIP_SPIDER: "a sac",
    Group.SCORPION: "a birth",
    Group.MANTIS: "an ootheca",
    Group.ROACH: "an ootheca",
}
LOOK_FOR = {
    Group.TARANTULA: "look for webbing or a closed retreat",
    Group.TRUE_SPIDER: "look for webbing or a closed retreat",
    Group.SCORPION: "look for a swollen body",
    Group.MANTIS: "give her something rough to lay on",
    Group.OTHER: "look for a swollen abdomen",
}
WAIT_ON_DAYS = 120  # past its window a pairing is shown so long, to be closed by a molt, a sac or the keeper


def axis(today: date) -> Scale:
    """The time axis of the bars: seven months back and seven ahead."""
    return Scale(today - timedelta(days=215), today + timedelta(days=210))


@dataclass(frozen=True)
class Bar:
    """Where the wait stands on the axis, in per cent: pairing, window, its likelier half, today."""

    paired: float
    opens: float
    width: float
    likely: float
    likely_width: float
    today: float


@dataclass(frozen=True)
class Waiting:
    """One paired female with her outlook, the signs of the last weeks, and what to do now."""

    female: Specimen
    paired: FuzzyDate
    outlook: SacOutlook
    signs: list[Sign]
    advice: str
    word: str
    bar: Bar


def sacs(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Paired females: wanted when the window opens, due at its likeliest day, until well after it closes."""
    held = pairings.inseminations(ids)
    females = Specimen.objects.filter(pk__in=list(held)).here().for_display().prefetch_related("molts")
    records = pairings.taxon_records({female.taxon_id for female in females})
    widened = ForecastWidth.objects.factor("sac") if held else 1.0
    for female in females:
        prior = sacwatch.sac_prior(female.taxon.sac_months_min, female.taxon.sac_months_max)
        if prior is None:
            continue
        record = records.get(female.taxon_id, TaxonRecord())
        forecast = sacwatch.sac_forecast(prior, record.intervals, record.censored, widened)
        paired = held[female.pk].paired
        low, high = sacwatch.wait_window(forecast, 0.8)
        opens, closes = paired.earliest + timedelta(days=low), paired.latest + timedelta(days=high)
        likely = paired.middle + timedelta(days=round(min(forecast.median, sacwatch.LONGEST_WAIT_DAYS)))
        facts = {"paired": str(paired), "closes": closes.isoformat()} | ({"widened": widened} if widened > 1 else {})
        yield StoredDue(female.pk, opens, max(likely, opens), facts, closes + timedelta(days=WAIT_ON_DAYS))


def of_one_taxon(ids: Sequence[int]) -> QuerySet[Due, int]:
    """Who waits for a sac of a taxon of these: what became of one that was ever paired moves the forecast of all.

    The history is asked as well, for a pairing that was taken back has moved it too.
    """
    was = Pairing.history.filter(female_id__in=ids).values("female_id")
    paired = Q(pk__in=Pairing.objects.filter(female__in=ids).values("female")) | Q(pk__in=was)
    taxa = Specimen.objects.filter(paired).values("taxon")
    return Due.objects.of("sac").filter(specimen__taxon__in=taxa).values_list("specimen_id", flat=True)


def say_sac(due: StoredDue, today: date) -> Said:
    """The window alone; the chances stand in the panel and on the sac watch."""
    paired, closes = FuzzyDate.parse(due.facts["paired"]), date.fromisoformat(due.facts["closes"])
    sentence = (
        f"Paired {say_date(paired, today)}; a sac is to be expected between {say_date(due.wanted_on, today)} "
        f"and {say_date(closes, today)}.{say_widened(due.facts.get('widened', 1.0))}"
    )
    actions = (Action("Sac or molt", "breeding:sac-watch", post=False),)
    return Said(Urgency.LOOK, "sac window open" if today <= closes else "window over", sentence, actions)


def waiting(dues: QuerySet[Due], today: date) -> Iterator[Waiting]:
    """The outlooks of these paired females, in the order of the stored dues; each is worked out when asked for."""
    order = list(dues.values_list("specimen_id", flat=True))
    held = pairings.inseminations(order)
    found = Specimen.objects.filter(pk__in=order).for_display().prefetch_related("molts").in_bulk()
    records = pairings.taxon_records({female.taxon_id for female in found.values()})
    signs = pairings.recent_signs(order, today)
    widths = ForecastWidth.objects.factors()
    for pk in order:
        if pk not in held:
            continue
        female, seen = found[pk], signs.get(pk, [])
        record = records.get(female.taxon_id, TaxonRecord())
        outlook = pairings.outlook_of(female, held[pk], record, [sign.kind for sign in seen], today, widths)
        if outlook is not None:
            paired = held[pk].paired
            group = Group(female.taxon.group)
            word = BROOD_WORDS.get(group, "eggs").removeprefix("a ").removeprefix("an ")
            yield Waiting(
                female, paired, outlook, seen, advice(outlook, today, group), word, _bar(paired, outlook, today)
            )


def _bar(paired: FuzzyDate, outlook: SacOutlook, today: date) -> Bar:
    scale = axis(today)
    opens, likely = scale.at(outlook.opens), scale.at(outlook.likely_from)
    return Bar(
        paired=scale.at(paired.middle),
        opens=opens,
        width=round(scale.at(outlook.closes) - opens, 2),
        likely=likely,
        likely_width=round(scale.at(outlook.likely_until) - likely, 2),
        today=scale.at(today),
    )


def advice(outlook: SacOutlook, today: date, group: Group) -> str:
    """What to do now, in one sentence, in the words of the group."""
    word = BROOD_WORDS.get(group, "eggs")
    if today > outlook.closes:
        return f"The window is over. Expect a molt rather than {word}, and pair again after it."
    if today < outlook.opens:
        return f"Too early: feed as usual. The window opens on {say_date(outlook.opens, today)}."
    if "closed" in outlook.signs:
        return "She has closed herself in. Do not open it; water through the mesh and leave her alone."
    if {"webbing", "refusing"} & set(outlook.signs):
        return "One more meal if she comes for it, then leave her alone and keep the dish full."
    if outlook.molt_first > outlook.ever.first_a:
        return f"A molt is likelier than {word}. Do not pair again before it."
    return f"No sign yet. Feed well and keep her undisturbed; {LOOK_FOR.get(group, LOOK_FOR[Group.OTHER])}."


@attention.beside("sacs")
def beside(today: date) -> BesidePanel | None:
    """Females due to build a sac, those whose likeliest day comes first at the top."""
    still_open = today + timedelta(days=WAIT_ON_DAYS)
    open_now = Due.objects.of("sac").wanted(today).filter(ends_on__gte=still_open).order_by("due_on", "specimen_id")
    paired = Due.objects.of("sac").count()
    if not paired:
        return None
    due = (row for row in waiting(open_now[: BESIDE * 2], today) if row.outlook.due)
    rows = list(islice(due, BESIDE))
    return BesidePanel(
        "breeding/_due_to_build.html",
        {"rows": rows, "paired": paired, "open": open_now.count(), "today": today, "axis": axis(today)},
    )


attention.register(DueKind("sac", "Due to build a sac", sacs, say_sac, in_list=False, order=5, moves=of_one_taxon))
