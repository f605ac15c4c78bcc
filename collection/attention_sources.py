"""What the bottom app wants noticed: molts expected, and sex evidence that clashes."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.db.models import Max

from collection import attention
from collection.attention import Action, DueKind, Said, StoredDue, Urgency
from collection.dates import say_date, say_days
from collection.forecasting import say_widened
from collection.models import ForecastWidth, Specimen, Standing

MOLT_LATE_DAYS = 60  # past its window a molt is asked for so long, then the record is taken to be incomplete


def molts(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals whose next molt may come any day."""
    rows = Standing.objects.filter(specimen__in=ids, molt_begins__isnull=False).exclude(
        status__in=("dead", "passed_on", "missing", "loan_out")
    )
    widened = ForecastWidth.objects.factor("molt")
    for row in rows:
        if row.molt_begins and row.molt_ends and row.molt_likely and row.last_molt:
            facts = {
                "last": row.last_molt.isoformat(),
                "likely": row.molt_likely.isoformat(),
                "ends": row.molt_ends.isoformat(),
                **({"widened": widened} if widened > 1 else {}),
            }
            until = row.molt_ends + timedelta(days=MOLT_LATE_DAYS)
            yield StoredDue(row.pk, row.molt_begins, row.molt_begins, facts, until)


def say_molt(due: StoredDue, today: date) -> Said:
    """The window of the next molt."""
    last, likely, ends = (date.fromisoformat(due.facts[key]) for key in ("last", "likely", "ends"))
    sentence = (
        f"Last molt {say_days((today - last).days)}; the next is likeliest around {say_date(likely, today)}, "
        f"nine times in ten by {say_date(ends, today)}.{say_widened(due.facts.get('widened', 1.0))}"
    )
    actions = (Action("Molted", "collection:molt-new", post=False),)
    return Said(Urgency.LOOK, "molt near" if today <= ends else "molt late", sentence, actions)


def conflicts(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals with strong evidence of both sexes."""
    rows = (
        Specimen.objects.filter(pk__in=ids, standing__sex_conflict=True, sex_evidence__withdrawn="")
        .here()
        .annotate(last=Max("sex_evidence__latest"))
    )
    for pk, last, share in rows.values_list("pk", "last", "standing__sex_probability"):
        yield StoredDue(pk, last, last, {"female": round(share, 4)})


def say_conflict(due: StoredDue, today: date) -> Said:
    """Evidence clashes: both sides strong."""
    sentence = (
        f"Strong evidence stands on both sides; weighed, {due.facts['female'] * 100:.0f} % for female. "
        f"Last looked at on {say_date(due.wanted_on, today)}."
    )
    actions = (Action("Weigh the evidence", "collection:specimen-evidence", post=False),)
    return Said(Urgency.LOOK, "evidence clashes", sentence, actions)


attention.register(DueKind("molt", "Molts expected", molts, say_molt, in_list=False, order=40))
attention.register(DueKind("evidence", "Evidence clashes", conflicts, say_conflict, order=60))
