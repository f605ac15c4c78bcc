"""When an animal wants food next, and the reason in one sentence.

Intervals and waiting times are common practice or care pages; a range is in the reason, the keeper's own rhythm goes
before all of them. Nothing here knows today's date except what turns a due date into a sentence, so a due date may
be stored. Days are whole days; a hold's end is the first day on which food is offered again.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.dates import say_date, say_days
from collection.stages import Group, Lifestyle, Stage, Term, stage_label
from collection.wording import plural
from husbandry.rhythm_defaults import BY_GROUP, COMMUNAL, SLOW, TARANTULA, TINY, TINY_BELOW_MM, Default


class HoldKind(Term):
    """Why the feeding clock stands still."""

    HARDENING = "hardening", "hardening after a molt"
    PREMOLT = "premolt", "premolt suspected"
    SAC = "sac", "guarding a sac"
    BROOD = "brood", "with her brood"
    EXPECTING = "expecting", "about to bring a brood"
    INCUBATING = "incubating"
    ARRIVAL = "arrival", "arrival rest"
    ILLNESS = "illness"
    COOLING = "cooling"
    OTHER = "other"


class Outcome(Term):
    """What became of the prey. Only `TAKEN` is a meal; the other three are offers not taken."""

    TAKEN = "taken"
    REFUSED = "refused"
    LEFT = "left", "left in"
    REMOVED = "removed", "taken out"


@dataclass(frozen=True)
class Hold:
    """Feeding stopped from `begins` up to, not including, `ends` (None: until lifted).

    A hold that began stops a feed still outstanding on that day. A `planned` one (entered ahead, such as a winter
    rest) moves only a feed that falls inside it, so the weeks before it are still fed.
    """

    kind: HoldKind
    begins: date
    ends: date | None
    reason: str
    planned: bool = False

    def __post_init__(self) -> None:
        """Refuse a hold that runs backwards."""
        if self.ends is not None and self.ends < self.begins:
            raise ValueError(f"The hold ends on {self.ends}, before it begins on {self.begins}.")

    def covers(self, day: date) -> bool:
        """Say whether no food is offered on `day`."""
        return self.begins <= day and (self.ends is None or day < self.ends)


@dataclass(frozen=True)
class Meal:
    """One offer of food and what became of it."""

    on: date
    outcome: Outcome


@dataclass(frozen=True)
class Rhythm:
    """Days from one meal to the next, why, whether the keeper set it, and what the clock is called in a sentence."""

    days: int
    reason: str
    own: bool = False
    name: str = ""

    @property
    def clock(self) -> str:
        """What is counted, such as "rhythm 14", "own rhythm 10" or "rhythm of Rack A, 9 days"."""
        if self.name:
            return f"{self.name}, {plural(self.days, 'day')}"
        return f"{'own rhythm' if self.own else 'rhythm'} {self.days}"

    def __post_init__(self) -> None:
        """Refuse a rhythm below one day."""
        if self.days < 1:
            raise ValueError("A feeding rhythm is at least one day.")


@dataclass(frozen=True)
class FeedDue:
    """The next feed: `due` after all holds (None: the clock stands, or no rhythm), `wanted` before them."""

    due: date | None
    reason: str
    hold: Hold | None
    wanted: date | None
    last_taken: date | None
    refusals: int
    interval: int | None


# Days without food after a molt, the cautious end of 3–5, 5–7, 10–14 and 14–21 (common practice; care pages say
# one to two weeks). The test is the animal's: fangs fully black.
HARDENING_DAYS = {
    Stage.YOUNG: 5, Stage.GROWING: 7, Stage.SUBADULT: 10, Stage.ADULT: 14, Stage.MATURE_MALE: 14,
}  # fmt: skip
GIANT_FROM_MM, GIANT_HARDENING_DAYS = 180.0, 21  # assumption: a "giant" by leg span
SMALL_BELOW_MM, MIDDLE_BELOW_MM = 30.0, 60.0  # where the stage is not known
ARRIVAL_REST_DAYS = 4  # common practice: water first, no food for 2–7 days
RETRY_SHARE = 0.5  # assumption: a refusal that is not premolt is tried again after half the rhythm
RETRY_AT_LEAST_DAYS = 2
PREMOLT_EVIDENCE = 2  # assumption: refusals in a row (a sign seen counts as one) before premolt is believed
PREMOLT_SIGN_DAYS = 30  # assumption: a sign without any molt forecast stops feeding for so long
WATER_DAYS = {
    Lifestyle.TERRESTRIAL: 7, Lifestyle.FOSSORIAL: 10, Lifestyle.ARBOREAL: 4, Lifestyle.WEB: 4,
    Lifestyle.DWARF: 5, Lifestyle.CULTURE: 4, Lifestyle.SOIL: 10,
}  # fmt: skip
MATURE_MALE_WATER_DAYS = 5
HELD = {
    HoldKind.HARDENING: "Hardening after the molt of {}",
    HoldKind.PREMOLT: "Premolt likely since {}",
    HoldKind.SAC: "Guarding a sac since {}",
    HoldKind.INCUBATING: "Incubating since {}",
    HoldKind.ARRIVAL: "Resting after arrival on {}",
    HoldKind.ILLNESS: "Ill since {}",
    HoldKind.COOLING: "Cooling since {}",
}


def default_rhythm(
    group: Group, stage: Stage, lifestyle: Lifestyle, size_mm: float | None = None, slow: bool = False
) -> Rhythm | None:
    """Return the usual feeding rhythm with its reason, or None where animals graze or nothing is known.

    `size_mm` is the leg span; `slow` marks the slow growers (*Grammostola*, *Brachypelma*). A stage that is not
    known is fed as a growing animal.
    """
    table = BY_GROUP.get(group)
    if table is None or lifestyle in (Lifestyle.CULTURE, Lifestyle.SOIL):
        return None
    if stage is Stage.CULTURE:
        return _rhythm(group.label, COMMUNAL)
    known = Stage.GROWING if stage is Stage.UNKNOWN else stage
    default = SLOW.get(known, table[known]) if slow and table is TARANTULA else table[known]
    if table is TARANTULA and known is Stage.YOUNG and size_mm is not None and size_mm < TINY_BELOW_MM:
        default = TINY
    doubt = " (stage not known)" if stage is Stage.UNKNOWN else ""
    return _rhythm(f"{group.label}, {stage_label(group, known)}{doubt}", default)


def hardening(stage: Stage, size_mm: float | None, molted: date) -> Hold:
    """Return the wait after a molt, by stage; by leg span in mm where the stage is not known, giants longer."""
    days = HARDENING_DAYS.get(stage) or _hardening_by_size(size_mm)
    if size_mm is not None and size_mm >= GIANT_FROM_MM:
        days = max(days, GIANT_HARDENING_DAYS)
    reason = f"Hardening after the molt of {say_date(molted)}"
    return Hold(HoldKind.HARDENING, molted, molted + timedelta(days=days), reason)


def arrival_rest(arrived: date) -> Hold:
    """Return the rest after an arrival: water first, no food."""
    reason = f"Resting after arrival on {say_date(arrived)}"
    return Hold(HoldKind.ARRIVAL, arrived, arrived + timedelta(days=ARRIVAL_REST_DAYS), reason)


def premolt_hold(
    refusals: Sequence[date],
    last_molt: date | None,
    molt_window: tuple[float, float] | None,
    signs: Sequence[date] = (),
) -> Hold | None:
    """Return the hold for a likely premolt, or None.

    `refusals`: days on which food was refused since the last meal. `molt_window`: days after `last_molt` between
    which the molt is expected. `signs`: days on which a premolt sign was seen (bald patch dark, silk mat).
    Inside the window two refusals, or one sign, are enough; it begins on the first day on which both hold and ends
    with the window, so that an animal is never forgotten. Without a window a sign together with a refusal stops
    feeding for `PREMOLT_SIGN_DAYS`.
    """
    if last_molt is None or molt_window is None:
        if not refusals or not signs:
            return None
        began = max(min(refusals), min(signs))
        reason = f"Premolt likely: sign seen on {say_date(min(signs))} and food refused"
        return Hold(HoldKind.PREMOLT, began, began + timedelta(days=PREMOLT_SIGN_DAYS), reason)
    opens = last_molt + timedelta(days=math.ceil(molt_window[0]))
    closes = last_molt + timedelta(days=math.floor(molt_window[1]) + 1)
    for day in sorted({*refusals, *signs}):
        refused = sum(other <= day for other in refusals)
        sign = any(opens <= other <= day for other in signs)
        if opens <= day < closes and (sign or refused >= PREMOLT_EVIDENCE):
            seen = "a sign seen" if sign else f"refused {times(refused)}"
            age = (day - last_molt).days
            reason = f"Premolt likely: {seen}, {plural(age, 'day')} after the molt of {say_date(last_molt)}"
            return Hold(HoldKind.PREMOLT, day, closes, reason)
    return None


def next_feed(
    rhythm: Rhythm | None,
    meals: Sequence[Meal],
    holds: Sequence[Hold],
    in_house_since: date | None,
    *,
    mature_male: bool = False,
) -> FeedDue:
    """Return when the next feed is due and why; it does not depend on today.

    Last meal taken + rhythm; never fed: from `in_house_since`. An offer that was not taken is tried again sooner,
    except with a mature male, who often fasts. Holds (arrival rest among them) push the date to their end.
    """
    taken = max((meal.on for meal in meals if meal.outcome is Outcome.TAKEN), default=None)
    refused = sorted(m.on for m in meals if m.outcome is not Outcome.TAKEN and (taken is None or m.on > taken))
    days = rhythm.days if rhythm else None
    if rhythm is None:
        return FeedDue(None, "No feeding rhythm: nothing to offer by the clock.", None, None, taken, len(refused), days)
    wanted = _wanted(rhythm.days, taken, refused, in_house_since, mature_male)
    if wanted is None:
        reason = "No meal and no arrival on record: log one to start the clock."
        return FeedDue(None, reason, None, None, taken, 0, days)
    due, hold = after_holds(wanted, holds)
    reason = _why(rhythm, taken, refused, in_house_since)
    if hold:
        reason = f"{reason} {hold.reason}{_until(hold, None)}."
    return FeedDue(due, reason, hold, wanted, taken, len(refused), days)


def retry_days(interval: int) -> int:
    """Return after how many days an offer that was not taken is repeated; never later than the rhythm."""
    return min(interval, max(RETRY_AT_LEAST_DAYS, math.ceil(interval * RETRY_SHARE)))


def water_interval(lifestyle: Lifestyle, mature_male: bool = False) -> int:
    """Return the usual days between water rounds (common practice); a wandering mature male drinks more often."""
    days = WATER_DAYS[lifestyle]
    return min(days, MATURE_MALE_WATER_DAYS) if mature_male else days


def say_feed(
    *,
    last_taken: date | None,
    interval: int | None,
    refusals: int,
    hold: Hold | None,
    due: date | None,
    in_house_since: date | None,
    today: date,
    own: bool = False,
    name: str = "",
) -> str:
    """Return the one sentence of a feeding row: the hold in force, the refusals, or the last meal and the rhythm.

    `name`: what the clock is called where it is not the animal's own rhythm (`own`) or the usual one.
    """
    if hold and hold.covers(today):
        said = HELD.get(hold.kind, hold.reason).format(say_date(hold.begins, today))
        return f"{said[:1].upper()}{said[1:]}{_until(hold, today)}."
    since = last_taken or in_house_since
    if refusals:
        start = f" since {say_date(since, today)}" if since else ""
        return f"Refused {times(refusals)}{start}{_next_try(due, today)}."
    clock = Rhythm(interval, "", own, name).clock if interval else "no feeding rhythm"
    if last_taken:
        return f"Last took food {say_days((today - last_taken).days)}; {clock}."
    arrival = f" since arrival {say_days((today - since).days)}" if since else ""
    return f"No meal on record{arrival}; {clock}."


def _next_try(due: date | None, today: date) -> str:
    if due is None:
        return ""
    return "; try again" if due <= today else f"; next try {say_date(due, today)}"


def _rhythm(who: str, default: Default) -> Rhythm:
    days, said, basis = default
    return Rhythm(days, f"{who[0].upper()}{who[1:]}: {said} ({basis}).")


def _hardening_by_size(size_mm: float | None) -> int:
    if size_mm is None or size_mm >= MIDDLE_BELOW_MM:
        return HARDENING_DAYS[Stage.ADULT]
    return HARDENING_DAYS[Stage.YOUNG if size_mm < SMALL_BELOW_MM else Stage.GROWING]


def _wanted(
    interval: int, taken: date | None, refused: Sequence[date], in_house_since: date | None, mature_male: bool
) -> date | None:
    first = taken + timedelta(days=interval) if taken else in_house_since
    if not refused:
        return first
    again = refused[-1] + timedelta(days=interval if mature_male else retry_days(interval))
    return max(first, again) if first else again


def after_holds(wanted: date, holds: Iterable[Hold]) -> tuple[date | None, Hold | None]:
    """Return the first day from `wanted` on that no hold forbids (None: until lifted), and the hold that set it."""
    day, cause = wanted, None
    pending = [hold for hold in holds if hold.ends is None or hold.ends > hold.begins]
    while stops := [hold for hold in pending if hold.covers(day) or (not hold.planned and hold.begins > day)]:
        cause = max(stops, key=lambda hold: hold.ends or date.max)
        if cause.ends is None:
            return None, cause
        day = cause.ends
    return day, cause


def _why(rhythm: Rhythm, taken: date | None, refused: Sequence[date], in_house_since: date | None) -> str:
    if refused:
        return f"Not taken {times(len(refused))}, last on {say_date(refused[-1])}; {rhythm.clock}."
    if taken:
        return f"Last took food on {say_date(taken)}; {rhythm.clock}."
    return f"No meal on record since {say_date(in_house_since) if in_house_since else 'arrival'}; {rhythm.clock}."


def _until(hold: Hold, today: date | None) -> str:
    return f", until {say_date(hold.ends, today)}" if hold.ends else ", until lifted"


def times(n: int) -> str:
    """Return how often in words: once, twice, 3 times."""
    return {1: "once", 2: "twice"}.get(n, f"{n} times")
