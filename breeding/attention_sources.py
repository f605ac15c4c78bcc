"""What breeding wants noticed: females due to build a sac."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import islice

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from breeding import pairings, sacwatch
from breeding.models import Pairing
from breeding.sacwatch import TaxonRecord
from breeding.watching import axis, waiting
from breeding.watchwords import CULTURES, words_of
from collection import attention
from collection.attention import Action, BesidePanel, DueKind, Said, StoredDue, Urgency
from collection.dates import FuzzyDate, say_date
from collection.forecasting import say_widened
from collection.models import Due, ForecastWidth, Specimen
from collection.stages import Group

BESIDE = 6
WAIT_ON_DAYS = 120  # past its window a pairing is shown so long, to be closed by a molt, a sac or the keeper


def sacs(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Paired females: wanted when the window opens, due at its likeliest day, until well after it closes."""
    held = pairings.inseminations(ids)
    females = Specimen.objects.filter(pk__in=list(held)).here().exclude(taxon__group__in=CULTURES)
    females = females.for_display().prefetch_related("molts")
    records = pairings.taxon_records({female.taxon_id for female in females}, timezone.localdate()) if held else {}
    widened = ForecastWidth.objects.factor("sac") if held else 1.0
    for female in females:
        one = held[female.pk]
        clock = pairings.clock_of(female, one, records.get(female.taxon_id, TaxonRecord()), widened)
        if clock is None:
            continue
        since = clock.since
        low, high = sacwatch.wait_window(clock.forecast, 0.8)
        opens, closes = since.earliest + timedelta(days=low), since.latest + timedelta(days=high)
        likely = since.middle + timedelta(days=round(min(clock.forecast.median, sacwatch.LONGEST_WAIT_DAYS)))
        facts = {"paired": str(one.paired), "closes": closes.isoformat()} | (
            {"widened": widened} if widened > 1 else {}
        )
        facts |= {"laid": str(one.laid)} if one.laid else {}
        facts |= {"group": female.taxon.group} if female.taxon.group != Group.TARANTULA else {}
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
    words = words_of(Group(due.facts.get("group", Group.TARANTULA.value)))
    laid = due.facts.get("laid")
    before = f", {words.brood} on {say_date(FuzzyDate.parse(laid), today)}" if laid else ""
    coming = f"another {words.noun}" if laid else words.brood
    sentence = (
        f"Paired {say_date(paired, today)}{before}; {coming} is to be expected between "
        f"{say_date(due.wanted_on, today)} and {say_date(closes, today)}.{say_widened(due.facts.get('widened', 1.0))}"
    )
    actions = (Action("What comes first" if words.noun != "sac" else "Sac or molt", "breeding:sac-watch", post=False),)
    plate = f"{words.noun} window open" if today <= closes else "window over"
    return Said(Urgency.LOOK, plate, sentence, actions)


@attention.beside("sacs")
def beside(today: date) -> BesidePanel | None:
    """Females due to build a sac, those whose likeliest day comes first at the top."""
    still_open = today + timedelta(days=WAIT_ON_DAYS)
    open_now = Due.objects.of("sac").wanted(today).filter(ends_on__gte=still_open).order_by("due_on", "specimen_id")
    is_open = Q(wanted_on__lte=today, ends_on__gte=still_open)
    found = Due.objects.of("sac").aggregate(paired=Count("specimen_id"), open=Count("specimen_id", filter=is_open))
    if not found["paired"]:
        return None
    due = (row for row in waiting(open_now[: BESIDE * 2], today) if row.outlook.due)
    rows = list(islice(due, BESIDE))
    return BesidePanel(
        "breeding/_due_to_build.html",
        {"rows": rows, **found, "today": today, "axis": axis(today)},
    )


attention.register(DueKind("sac", "Due to build a sac", sacs, say_sac, in_list=False, order=5, moves=of_one_taxon))
