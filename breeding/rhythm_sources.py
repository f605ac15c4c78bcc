"""What breeding knows that feeding should heed: fattening around a pairing, and females that may be gravid."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from breeding.models import EggSac, Pairing, Sign
from collection import traces
from collection.dates import say_date
from collection.models import Standing
from husbandry.influences import influence_source
from husbandry.rhythm_choice import Influence, InfluenceKind

BEFORE = timedelta(days=42)  # assumption: fattened for six weeks before a planned pairing
AFTER = timedelta(days=60)  # assumption: and for two months after one, as long as she takes food
LEAVE_ALONE = ("closed", "webbing", "refusing")
GRAVID = timedelta(days=365)  # assumption: by then a sac has come or will not


@influence_source("pairing")
def pairing(ids: Sequence[int]) -> dict[int, list[Influence]]:
    """Females that are to be paired, and that were; a molt or a sac after the meeting ends it.

    Fattening ends already when she closes herself in, webs or refuses: from then on she is left alone.
    """
    if traces.lacks(ids, Pairing):
        return {}
    found: dict[int, list[Influence]] = defaultdict(list)
    met: dict[int, date] = {}
    rows = Pairing.objects.filter(female__in=ids).values_list("female_id", "planned_for", "meetings__latest")
    for pk, planned, latest in rows.order_by():
        if latest is not None:
            met[pk] = max(latest, met.get(pk, latest))
        elif planned is not None:
            reason = f"Fattening for the pairing planned on {say_date(planned)}"
            found[pk].append(Influence(InfluenceKind.FATTENING, planned - BEFORE, planned + timedelta(days=1), reason))
    ended, signed = _ended(met), _signed(met)
    for pk, day in met.items():
        end = ended.get(pk, date.max)
        fed, gravid = min(day + AFTER, end, signed.get(pk, date.max)), min(day + GRAVID, end)
        after = f"Fattening after the pairing of {say_date(day)}"
        found[pk].append(Influence(InfluenceKind.FATTENING, day, fed, after))
        found[pk].append(Influence(InfluenceKind.GRAVID, day, gravid, f"May be gravid from {say_date(day)}"))
    return found


def _ended(met: dict[int, date]) -> dict[int, date]:
    """The first day on which a sac came or the female molted after she was paired."""
    if not met:
        return {}
    days: dict[int, list[date]] = defaultdict(list)
    for pk, laid in EggSac.objects.filter(female__in=met).values_list("female_id", "earliest"):
        days[pk].append(laid)
    for pk, molted in Standing.objects.filter(specimen__in=met).values_list("specimen_id", "last_molt"):
        days[pk] += [molted] if molted else []
    later = {pk: [day for day in rows if day > met[pk]] for pk, rows in days.items()}
    return {pk: min(rows) for pk, rows in later.items() if rows}


def _signed(met: dict[int, date]) -> dict[int, date]:
    """The first day after her pairing on which a female showed that she is about to bring a brood."""
    days: dict[int, date] = {}
    if met:
        seen = Sign.objects.filter(female__in=met, kind__in=LEAVE_ALONE).order_by("-earliest")
        for pk, day in seen.values_list("female_id", "earliest"):
            if day > met[pk]:
                days[pk] = day
    return days
