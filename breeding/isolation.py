"""Who met whom: a pairing brings two animals together, and whatever one of them carries."""

from collections.abc import Iterator
from datetime import date

from django.db.models import Q

from breeding.models import Meeting
from husbandry import isolation
from husbandry.exposure import Contact, How


def met(specimen: int, since: date) -> Iterator[Contact]:
    """Everybody that an animal was put together with since a day."""
    pairs = Q(pairing__female=specimen) | Q(pairing__male=specimen)
    rows = Meeting.objects.filter(pairs, latest__gte=since).order_by("earliest", "id")
    for female, male, begins, ends in rows.values_list("pairing__female", "pairing__male", "earliest", "latest"):
        other = male if female == specimen else female
        if other is not None:
            yield Contact(other, How.MET, begins, ends)


isolation.meetings["breeding"] = met
