"""What the climate wants noticed: air outside its band for a while, and sensors that fell silent."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.utils import timezone

from collection.attention import Action, HouseItem, Said, Urgency, house_source
from husbandry.climate_services import glance

MOST_SHOWN = 6  # items of the house; the page of the sensors holds the rest


@house_source("climate")
def climate(today: date) -> Iterator[HouseItem]:
    """Each thing that is wrong now, out-of-band first."""
    found = [(glanced, trouble) for glanced in glance.in_trouble(timezone.localtime()) for trouble in glanced.troubles]
    act = (Action("Climate", "husbandry:sensor-list", post=False),)
    for glanced, trouble in found[:MOST_SHOWN]:
        urgency = Urgency.LOOK if trouble.silent else Urgency.OVER
        yield HouseItem(glanced.sensor.name, Said(urgency, trouble.word, trouble.sentence, act))
    if len(found) > MOST_SHOWN:
        rest = len(found) - MOST_SHOWN
        yield HouseItem("Climate", Said(Urgency.LOOK, f"{rest} more", "More sensors want a look.", act))
