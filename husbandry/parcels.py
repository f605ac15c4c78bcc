"""What a phone's outbox sends: parcels of taps, each with a key made on the phone and a moment by the phone's clock.

The rack walk takes in its taps so, and so may upper apps take in theirs.
"""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db import OperationalError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from collection.services import Refused

logger = logging.getLogger(__name__)
SLACK = timedelta(minutes=2)  # between what two clocks say of one moment, the way through the wifi included


@dataclass(frozen=True)
class Clock:
    """What is known of a phone's clock: its taps lie between the beginning and the parcel's arrival."""

    began: datetime
    received: datetime
    lead: timedelta  # how far it was ahead of the house's when the parcel left

    def house_time(self, at: datetime, lead: timedelta | None) -> datetime:
        """When a tap was made, by the house's clock; `lead` is what the phone knew of itself at that moment.

        The tap's own lead goes first: the clock may have been put right since. Where it leads out of the time there
        was, the clock was put right before the tap, and the parcel's holds. Where neither fits, the nearest moment
        that does.
        """
        for ahead in (lead, self.lead):
            if ahead is not None and self.began - SLACK <= at - ahead <= self.received + SLACK:
                return min(max(at - ahead, self.began), self.received)
        return min(max(at - self.lead, self.began), self.received)


@dataclass
class Answer:
    """What became of each tap of a parcel, by key. A tap in neither list stays on the phone and comes again."""

    saved: list[str] = field(default_factory=list)
    refused: dict[str, str] = field(default_factory=dict)


def clock_since(began: datetime, sent_at: Any, received: datetime) -> Clock:
    """The phone's clock by its own word on when it sent the parcel; a missing or odd word means no lead."""
    sent = moment(sent_at)
    return Clock(began, received, sent - received if sent else timedelta())


def key_of(raw: Any) -> uuid.UUID:
    """The key of a tap; raises `Refused`."""
    if not isinstance(raw, dict):
        raise Refused("This is not a tap.")
    try:
        return uuid.UUID(str(raw.get("key")))
    except ValueError:
        raise Refused("The tap has no proper key.") from None


def house_time(raw: dict[str, Any], clock: Clock) -> datetime:
    """When a tap was made, by the house's clock; raises `Refused`."""
    at = moment(raw.get("at"))
    if at is None:
        raise Refused("The tap has no proper time.")
    return clock.house_time(at, _lead(raw.get("lead")))


def moment(value: Any) -> datetime | None:
    """A moment with its zone, in years that a clock may show; None for anything else."""
    try:
        read = parse_datetime(value) if isinstance(value, str) else None
    except ValueError:  # well-formed, and no such day
        return None
    return None if read is None or timezone.is_naive(read) or not 1970 <= read.year <= 2200 else read


def _lead(value: Any) -> timedelta | None:
    """How far a phone says its clock was ahead, in milliseconds."""
    known = isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e13
    return timedelta(milliseconds=value) if known else None


def take_each(parcel: Iterable[Any], take: Callable[[Any], None]) -> Answer:
    """Take in a parcel in the order its taps were made; `take` raises `Refused` for one that is none."""
    answer = Answer()
    for raw in parcel:
        name = str(raw.get("key", "")) if isinstance(raw, dict) else ""
        try:
            take(raw)
        except Refused as refusal:
            answer.refused[name] = str(refusal)
        except OperationalError:
            raise  # locked or full: that concerns every tap, and the phone keeps them all
        except Exception:
            logger.exception("A tap could not be taken in; it stays on the phone, and the others go on")
        else:
            answer.saved.append(name)
    return answer
