"""When a fast is worth a look. All three limits are assumptions; survival on water alone for months is on record.

Spiderlings, and all groups that cannot fast for long, are counted in feedings; growing and grown animals of the groups
that are built to fast in days since the last meal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.stages import Group, Stage
from husbandry.rhythm import times

FASTERS = (Group.TARANTULA, Group.SCORPION, Group.WHIP_SPIDER)
ALERT_FEEDINGS = 3
ALERT_DAYS = {Stage.GROWING: 60, Stage.SUBADULT: 60, Stage.UNKNOWN: 60, Stage.ADULT: 120}
NEVER = (Stage.MATURE_MALE, Stage.CULTURE)


@dataclass(frozen=True)
class Excuse:
    """A good reason to fast (premolt, a gravid female, a hold), from a day up to, not including, another."""

    begins: date
    ends: date | None


def refusal_alert(
    group: Group,
    stage: Stage,
    *,
    refusals: int,
    last_taken: date | None,
    in_house_since: date | None,
    today: date,
    premolt: bool = False,
    gravid: bool = False,
    mature_male: bool = False,
) -> str | None:
    """Return a caution when refusals go on too long, else None: never for premolt, a gravid female or a mature male.

    Spiderlings, and all groups that cannot fast for long: more than three feedings refused. Otherwise more than 60
    days (120 for adults) since the last meal with at least one refusal. All three limits are assumptions.
    """
    if not refusals or premolt or gravid or mature_male or stage in NEVER:
        return None
    limit = _limit(group, stage)
    if limit is None:
        if refusals <= ALERT_FEEDINGS:
            return None
        return f"Refused {times(refusals)} in a row; look at the abdomen and offer water."
    since = last_taken or in_house_since
    days = (today - since).days if since else 0
    if days <= limit:
        return None
    return f"No food taken for {days} days, refused {times(refusals)}; look at the abdomen and offer water."


def alert_from(
    group: Group,
    stage: Stage,
    refused: Sequence[date],
    since: date | None,
    excuses: Sequence[Excuse] = (),
    *,
    mature_male: bool = False,
) -> date | None:
    """Return the first day on which a fast is worth a look if nothing changes, or None; it does not depend on today.

    `refused`: days of the refusals since the last meal. `since`: the last meal, or since when the animal is here.
    An excuse that covers the day puts it off to the excuse's end. `refusal_alert` says the same in words for one day.
    """
    if not refused or mature_male or stage in NEVER:
        return None
    days = sorted(refused)
    limit = _limit(group, stage)
    if limit is None:
        day = days[ALERT_FEEDINGS] if len(days) > ALERT_FEEDINGS else None
    else:
        day = max(since + timedelta(days=limit + 1), days[0]) if since else None
    while day and (covering := [excuse for excuse in excuses if _covers(excuse, day)]):
        ends = [excuse.ends for excuse in covering]
        day = None if None in ends else max(end for end in ends if end)
    return day


def _covers(excuse: Excuse, day: date) -> bool:
    return excuse.begins <= day and (excuse.ends is None or day < excuse.ends)


def rule(group: Group, stage: Stage) -> str:
    """From when on a fast is called long, in words; the limits are assumptions."""
    limit = _limit(group, stage)
    return f"more than {ALERT_FEEDINGS} feedings refused" if limit is None else f"over {limit} days"


def _limit(group: Group, stage: Stage) -> int | None:
    """Days without food, or None where feedings are counted instead."""
    return ALERT_DAYS.get(stage) if group in FASTERS else None
