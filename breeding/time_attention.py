"""What breeding wants noticed of males: one that was never paired, and whose time runs out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from breeding.models import Meeting
from breeding.readiness import AGEING_DAYS, CLOCKED, LATE_DAYS
from collection import attention
from collection.attention import Action, DueKind, Said, StoredDue, Urgency
from collection.dates import say_date
from collection.models import Standing
from collection.querysets import HERE
from collection.stages import Stage


def times(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Mature males without a meeting since their last molt: from six months after it until their time is over."""
    rows = Standing.objects.filter(
        specimen__in=ids,
        single=True,
        status__in=HERE,
        stage=Stage.MATURE_MALE.value,
        mature_since__isnull=False,
        specimen__taxon__group__in=[group.value for group in CLOCKED],
    )
    met: dict[int, date] = dict(
        Meeting.objects.filter(pairing__male__in=ids).order_by("latest").values_list("pairing__male", "latest")
    )
    for row in rows:
        since = row.mature_since
        if since is not None and met.get(row.pk, date.min) < since:
            wanted, ends = since + timedelta(days=AGEING_DAYS), since + timedelta(days=LATE_DAYS)
            yield StoredDue(row.pk, wanted, wanted, {"since": since.isoformat()}, ends)


def say_time(due: StoredDue, today: date) -> Said:
    """How long he has been mature, and how long he may still have."""
    since = date.fromisoformat(due.facts["since"])
    ends = since + timedelta(days=LATE_DAYS)
    sentence = (
        f"Mature since {say_date(since, today)} and never paired. Males are at their best for about six months; "
        f"by our assumption his time ends around {say_date(ends, today)}."
    )
    return Said(Urgency.LOOK, "time runs out", sentence, (Action("Log a pairing", "breeding:pairing-new", post=False),))


attention.register(DueKind("time", "Males whose time runs out", times, say_time, order=30))
