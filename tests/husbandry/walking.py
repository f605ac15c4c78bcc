"""A walk for tests: its stops, its taps as a phone sends them, and the door that takes them in."""

import json
import uuid
from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from husbandry import walks
from husbandry.models import Enclosure, Tap, Walk
from tests import factories as make


def walk_of(*enclosures: Enclosure, by: Any, **values: Any) -> Walk:
    """A walk that began half an hour ago."""
    began = timezone.now() - timedelta(minutes=30)
    return Walk.objects.create(**{"stops": [stop.pk for stop in enclosures], "by": by, "started_at": began, **values})


def walk_past(*animals: Any, by: Any, **values: Any) -> Walk:
    """A walk past these animals, each in an enclosure of its own."""
    return walk_of(*[make.housed(animal) for animal in animals], by=by, **values)


def tap(kind: str, animal: Any = None, *, ago: timedelta = timedelta(), **values: Any) -> dict[str, Any]:
    """A tap made so long ago, on an animal and the enclosure it lives in."""
    stay = animal.stays.filter(ends=None).first() if animal else None
    raw = {"key": str(uuid.uuid4()), "kind": kind, "at": (timezone.now() - ago).isoformat()}
    raw |= {"specimen": animal.pk} if animal else {}
    return raw | ({"enclosure": stay.enclosure_id} if stay else {}) | values


def take(walk: Walk, *taps: Any, by: Any = None, lead: timedelta = timedelta()) -> walks.Answer:
    """Hand the taps in, on a phone whose clock is ahead by `lead` when it sends."""
    return walks.take_in(walk, list(taps), (timezone.now() + lead).isoformat(), by or walk.by)


def refusals(walk: Walk, *taps: Any) -> list[str]:
    """The sentences with which these taps are refused; none is saved."""
    answer = take(walk, *taps)
    assert answer.saved == []
    return list(answer.refused.values())


def stored(raw: dict[str, Any]) -> Tap:
    """What became of a tap."""
    return Tap.objects.get(key=raw["key"])


def post(client: Client, walk: Walk, *taps: Any, body: Any = None, **headers: str) -> HttpResponse:
    """A parcel at the door, as the walk's own page sends it."""
    parcel = {"taps": list(taps), "sent_at": timezone.now().isoformat(), "waiting": 0} if body is None else body
    text = parcel if isinstance(parcel, str) else json.dumps(parcel)
    headers = {"Origin": "http://testserver", **headers}
    return client.post(f"/walks/{walk.pk}/taps/", text, content_type="application/json", headers=headers)
