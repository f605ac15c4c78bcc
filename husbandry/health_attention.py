"""What isolation wants noticed: enclosures to be kept apart, and neighbours that nobody has looked at yet."""

from collections.abc import Iterator
from datetime import date, timedelta

from collection import attention
from collection.attention import Action, HouseItem, Said, Urgency
from husbandry import isolation
from husbandry.models import ExposureCheck

LOOKED_DAYS = 7  # a look at a neighbour counts so long; assumption


@attention.house_source("isolation")
def apart(today: date) -> Iterator[HouseItem]:
    """Each enclosure with somebody in it who has, or may have, what spreads."""
    known = isolation.suspects()
    if not known:
        return
    looked = set(
        ExposureCheck.objects.filter(
            issue__in=[suspect.issue.pk for suspect in known], on__gt=today - timedelta(days=LOOKED_DAYS)
        ).values_list("issue_id", "specimen_id")
    )
    for suspect in known:
        animals = [pk for inside in suspect.living.values() for pk in inside]
        open_watch = sum((suspect.issue.pk, pk) not in looked for pk in animals)
        code = suspect.issue.specimen.code
        sentence = f"{str(suspect.issue).capitalize()} at {code} in {suspect.enclosure.code}. {isolation.LAST} "
        if animals:
            sentence += (
                f"Of {len(animals)} that stand near, {open_watch} wait{'s' if open_watch == 1 else ''} for a look."
            )
        said = Said(Urgency.LOOK, "keep apart", sentence.strip(), (Action("Who", "husbandry:apart", post=False),))
        yield HouseItem(f"May spread: {code}", said)
