"""What meals tell of a coming molt: refusals in a row, or that it still eats."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import timedelta

from django.utils import timezone

from collection.premolt_clues import Clues, clue_source
from husbandry.feeding import last_taken
from husbandry.models import Feeding
from husbandry.rhythm import Outcome

FRESH_DAYS = 14  # assumption: a meal longer ago says nothing of today


@clue_source("meals")
def meals(ids: Sequence[int]) -> dict[int, Clues]:
    """Refusals since the last meal; with none, whether that meal was lately."""
    taken = last_taken(ids)
    refused: dict[int, int] = defaultdict(int)
    rows = Feeding.objects.filter(specimen__in=ids).exclude(outcome=Outcome.TAKEN.value)
    for pk, on in rows.values_list("specimen_id", "on"):
        refused[pk] += pk not in taken or on > taken[pk]
    fresh = timezone.localdate() - timedelta(days=FRESH_DAYS)
    return {
        pk: Clues(refused[pk], ate=not refused[pk] and pk in taken and taken[pk] >= fresh) for pk in {*refused, *taken}
    }
