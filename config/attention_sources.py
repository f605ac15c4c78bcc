"""What the house as a whole wants noticed: a backup too old."""

from collections.abc import Iterator
from datetime import date, timedelta

from django.utils import timezone

from collection.attention import Action, HouseItem, Said, Urgency, house_source
from collection.dates import say_days
from config import backup

TOO_OLD = timedelta(days=2)


@house_source("backup")
def backups(today: date) -> Iterator[HouseItem]:
    """The newest backup, when it is older than two days or there is none."""
    newest = backup.newest()
    act = (Action("Backups", "backups:list", post=False),)
    if newest is None:
        yield HouseItem("Backup", Said(Urgency.LOOK, "no backup", "No backup of this collection exists yet.", act))
    elif timezone.now() - newest > TOO_OLD:
        age = say_days((today - timezone.localtime(newest).date()).days)
        yield HouseItem("Backup", Said(Urgency.LOOK, "backup too old", f"The newest backup was made {age}.", act))
