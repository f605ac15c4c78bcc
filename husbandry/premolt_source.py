"""What meals tell of a coming molt: refusals in a row, or that it still eats."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import timedelta

from django.utils import timezone

from collection.premolt_clues import Clues, clue_source
from husbandry.feeding import last_taken, not_taken

FRESH_DAYS = 14  # assumption: a meal longer ago says nothing of today


@clue_source("meals")
def meals(ids: Sequence[int]) -> dict[int, Clues]:
    """Refusals since the last meal; with none, whether that meal was lately."""
    taken = last_taken(ids)
    refused: dict[int, int] = defaultdict(int)
    for pk, on in not_taken(ids):
        refused[pk] += pk not in taken or on > taken[pk]
    fresh = timezone.localdate() - timedelta(days=FRESH_DAYS)
    return {
        pk: Clues(refused[pk], ate=not refused[pk] and pk in taken and taken[pk] >= fresh) for pk in {*refused, *taken}
    }
