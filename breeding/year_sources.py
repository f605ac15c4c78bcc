"""What breeding tells of a year: pairings and what came of them, sacs and young."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date

from breeding import pairings
from breeding.models import EggSac, HeadCount, Meeting
from collection import yearbook
from collection.dates import FuzzyDate
from collection.wording import plural
from collection.yearbook import Section

HATCHED = EggSac.Outcome.HATCHED.value


@yearbook.register("pairings", 40)
def paired(first: date, last: date) -> Section | None:
    """Females paired in the year by taxon, and what has come of it until now."""
    females = set(Meeting.objects.filter(earliest__range=(first, last)).values_list("pairing__female_id", flat=True))
    if not females:
        return None
    met: dict[int, list[date]] = defaultdict(list)
    taxon_of: dict[int, str] = {}
    columns = ("pairing__female_id", "pairing__female__taxon__name", "earliest", "latest")
    for female, taxon, earliest, latest in Meeting.objects.filter(pairing__female__in=females).values_list(*columns):
        met[female].append(FuzzyDate(earliest, latest).middle)
        taxon_of[female] = taxon
    ends = pairings.ends(sorted(females))
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for female, days in met.items():
        for outcome in _waits(days, ends.get(female, []), first, last):
            found[taxon_of[female]][outcome] += 1
    rows = tuple(
        (taxon, str(sum(counts.values())), str(counts["sac"]), str(counts["molt"]), str(counts["waits"]))
        for taxon, counts in sorted(found.items())
    )
    sacs, over = (sum(c[key] for c in found.values()) for key in ("sac", "molt"))
    ended = (
        f"Of {plural(sacs + over, 'wait')} that {'is' if sacs + over == 1 else 'are'} over, {sacs} ended in a brood."
    )
    says = ended if sacs + over else "All still wait."
    head = ("taxon", "females paired", "brood", "molt instead", "still waiting")
    return Section("Pairings", says, head, rows, taxa=True)


def _waits(met: list[date], ends: list[tuple[date, str]], first: date, last: date) -> list[str]:
    """How each wait that began in the year ended; pairings of one female between two ends are one wait."""
    outcomes = []
    before = date.min
    for day, kind in [*ends, (date.max, "waits")]:
        inside = [meeting for meeting in met if before < meeting < day]
        if inside and first <= max(inside) <= last:
            outcomes.append(kind)
        before = day
    return outcomes


@yearbook.register("sacs", 50)
def sacs(first: date, last: date) -> Section | None:
    """Sacs laid in the year by taxon: how each ended, and the young last counted alive."""
    laid = list(EggSac.objects.filter(earliest__range=(first, last)).select_related("female__taxon"))
    if not laid:
        return None
    alive: dict[int, int] = {}
    stages = (HeadCount.Stage.SPIDERLING.value, HeadCount.Stage.YOUNG.value)
    counted = HeadCount.objects.filter(sac__in=laid, stage__in=stages).order_by("earliest", "id")
    alive.update(counted.values_list("sac_id", "alive"))
    found: dict[str, list[EggSac]] = defaultdict(list)
    for sac in laid:
        found[sac.female.taxon.name].append(sac)
    rows = tuple(
        (
            taxon,
            str(len(rows)),
            str(sum(sac.outcome == HATCHED for sac in rows)),
            str(sum(sac.outcome not in ("", HATCHED) for sac in rows)),
            str(sum(alive.get(sac.pk, 0) for sac in rows)),
        )
        for taxon, rows in sorted(found.items())
    )
    running = sum(not sac.outcome for sac in laid)
    says = f"{len(laid)} laid, {sum(alive.values())} young counted" + (
        f"; {running} still run{'s' if running == 1 else ''}." if running else "."
    )
    return Section("Broods and young", says, ("taxon", "laid", "hatched", "lost", "young counted"), rows, taxa=True)
