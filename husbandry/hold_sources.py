"""Holds that husbandry itself knows of: the keeper's own, hardening after a molt, rest after arrival, illness."""

from collections import defaultdict
from collections.abc import Sequence

from django.db.models import Q
from django.utils import timezone

from collection import health, traces
from collection.models import HealthIssue, Specimen, SpecimenKind, Standing
from collection.stages import Group, Stage
from husbandry import rhythm
from husbandry.holds import hold_source
from husbandry.models import Hold as HoldRow
from husbandry.rhythm import Hold, HoldKind

NO_HARDENING = {Group.ISOPOD, Group.MILLIPEDE}  # they graze, nobody withholds food


@traces.shared
def set_by_hand(ids: Sequence[int]) -> list[HoldRow]:
    """The rows of the holds that the keeper has set."""
    return [] if traces.lacks(ids, HoldRow) else list(HoldRow.objects.filter(specimen__in=ids))


@hold_source("keeper")
def keepers_own(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """Holds the keeper has set. One that was entered ahead leaves the feeds before it alone until it begins."""
    today = timezone.localdate()
    held: dict[int, list[Hold]] = defaultdict(list)
    for row in set_by_hand(ids):
        kind = HoldKind(row.kind)
        held[row.specimen_id].append(
            Hold(kind, row.begins, row.ends, row.reason or kind.label.capitalize(), row.begins > today)
        )
    return held


@hold_source("hardening")
def hardening(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """From the last molt until the fangs are hard again."""
    rows = Standing.objects.filter(
        specimen__in=ids, last_molt__isnull=False, specimen__kind=SpecimenKind.SINGLE.value
    ).values_list("specimen_id", "stage", "size_mm", "last_molt", "specimen__taxon__group")
    return {
        pk: [rhythm.hardening(Stage(stage), size, molted)]
        for pk, stage, size, molted, group in rows
        if molted and Group(group) not in NO_HARDENING
    }


@hold_source("arrival")
def arrival(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """Water first: no food in the days after an arrival on a known day, by the box it came in or by its own record."""
    rows = Specimen.objects.filter(pk__in=ids).exclude(how="bred")
    rows = rows.filter(Q(acquired_earliest__isnull=False) | Q(arrival__isnull=False))
    held = {}
    for pk, since, until, box in rows.values_list("pk", "acquired_earliest", "acquired_latest", "arrival__on"):
        came = box or (since if since == until else None)
        if came is not None:
            held[pk] = [rhythm.arrival_rest(came)]
    return held


@hold_source("illness")
def ill(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """While something is wrong of a kind that stops feeding; from the day it was opened until it is closed."""
    if traces.lacks(ids, HealthIssue):
        return {}
    stopping = [kind.value for kind, facts in health.KINDS.items() if facts.holds_food]
    held: dict[int, list[Hold]] = defaultdict(list)
    for issue in HealthIssue.objects.filter(specimen__in=ids, kind__in=stopping):
        if issue.closed_on is None or issue.closed_on > issue.earliest:
            hold = Hold(HoldKind.ILLNESS, issue.earliest, issue.closed_on, str(issue).capitalize())
            held[issue.specimen_id].append(hold)
    return held
