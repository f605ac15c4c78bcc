"""What husbandry wants noticed of meals: feeds, and the first one after a molt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from django.db.models import Max
from django.utils import timezone

from collection import attention
from collection.attention import Action, DueKind, Said, StoredDue, Urgency
from collection.dates import say_days
from collection.models import Specimen, SpecimenKind
from collection.stages import Group, Lifestyle, Stage
from husbandry import holds, rhythm
from husbandry.models import Feeding, FeedRhythm
from husbandry.rhythm import FeedDue, Hold, HoldKind, Meal, Outcome, Rhythm

TAKEN = Outcome.TAKEN.value


def last_taken(ids: Sequence[int]) -> dict[int, date]:
    """The day of the last meal taken, by animal."""
    meals = Feeding.objects.filter(specimen__in=ids, outcome=TAKEN).values_list("specimen")
    return dict(meals.annotate(last=Max("on")).order_by())


class FeedFacts:
    """Rows about the meals of a set of animals, one query a kind."""

    def __init__(self, ids: Sequence[int]) -> None:
        meals = Feeding.objects.filter(specimen__in=ids)
        self.taken = last_taken(ids)
        self.refused: dict[int, list[date]] = defaultdict(list)
        for pk, on in meals.exclude(outcome=TAKEN).values_list("specimen_id", "on").order_by("on"):
            if pk not in self.taken or on > self.taken[pk]:
                self.refused[pk].append(on)
        rows = FeedRhythm.objects.filter(specimen__in=ids).order_by("since", "id")
        self.own = {row.specimen_id: row for row in rows}
        self.holds = holds.gather(ids)


def default_of(specimen: Specimen) -> Rhythm | None:
    """The usual rhythm of an animal like this one."""
    taxon, standing = specimen.taxon, specimen.standing
    lifestyle = Lifestyle(taxon.lifestyle) if taxon.lifestyle else Lifestyle.TERRESTRIAL
    if specimen.kind == SpecimenKind.CULTURE.value:
        return None
    return rhythm.default_rhythm(
        Group(taxon.group), Stage(standing.stage), lifestyle, size_mm=standing.size_mm, slow=taxon.slow
    )


def in_house_since(specimen: Specimen) -> date:
    """The day from which a first meal is counted: arrival, hatching, or the day the animal was entered.

    A vague day such as "this year" may end long after the animal was entered; it was here by then.
    """
    entered = timezone.localtime(specimen.entered_at).date()
    return min(specimen.acquired_latest or specimen.hatched_latest or entered, entered)


def feed_due(specimen: Specimen, facts: FeedFacts) -> tuple[FeedDue, Rhythm | None]:
    """The next feed of one animal, and the rhythm it follows."""
    own = facts.own.get(specimen.pk)
    if own is not None:
        every = Rhythm(own.days, own.reason or f"own rhythm, {own.days} days", own=True) if own.days else None
    else:
        every = default_of(specimen)
    taken, refused = facts.taken.get(specimen.pk), facts.refused[specimen.pk]
    meals = [Meal(taken, Outcome.TAKEN)] if taken else []
    meals += [Meal(on, Outcome.REFUSED) for on in refused]
    held = [*facts.holds[specimen.pk], *_premolt(specimen, refused)]
    mature = specimen.standing.mature_since is not None
    return rhythm.next_feed(every, meals, held, in_house_since(specimen), mature_male=mature), every


def _premolt(specimen: Specimen, refused: list[date]) -> list[Hold]:
    standing = specimen.standing
    if standing.last_molt is None or standing.molt_begins is None or standing.molt_ends is None:
        return []
    window = ((standing.molt_begins - standing.last_molt).days, (standing.molt_ends - standing.last_molt).days)
    hold = rhythm.premolt_hold(refused, standing.last_molt, window)
    return [hold] if hold else []


def feeds(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Stored due dates of feeds."""
    facts = FeedFacts(ids)
    for specimen in Specimen.objects.filter(pk__in=ids).here().for_display():
        due, every = feed_due(specimen, facts)
        if due.wanted is not None:
            yield StoredDue(specimen.pk, due.wanted, due.due, _feed_facts(due, every, in_house_since(specimen)))


def _feed_facts(due: FeedDue, every: Rhythm | None, since: date) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "last": due.last_taken.isoformat() if due.last_taken else None,
        "interval": due.interval,
        "refusals": due.refusals,
        "since": since.isoformat(),
        "own": bool(every and every.own),
        "why": every.reason if every else due.reason,
    }
    if due.hold:
        ends = due.hold.ends.isoformat() if due.hold.ends else None
        facts["hold"] = [due.hold.kind.value, due.hold.begins.isoformat(), ends, due.hold.reason]
    return facts


def hold_of(facts: dict[str, Any]) -> Hold | None:
    """The hold that a stored due was delayed by."""
    if "hold" not in facts:
        return None
    kind, begins, ends, reason = facts["hold"]
    return Hold(HoldKind(kind), date.fromisoformat(begins), date.fromisoformat(ends) if ends else None, str(reason))


def day_of(text: str | None) -> date | None:
    """A day as a stored due keeps it."""
    return date.fromisoformat(text) if text else None


FEED_ACTIONS = (
    Action("Taken", "husbandry:feed-now", {"outcome": "taken"}),
    Action("Refused", "husbandry:feed-now", {"outcome": "refused"}),
)
HELD_ACTIONS = (
    Action("Water done", "husbandry:water-now"),
    Action("Molted", "collection:molt-new", post=False),
)


def say_feed(due: StoredDue, today: date) -> Said:
    """The sentence of a feed, its urgency and what can be done."""
    facts = due.facts
    hold = hold_of(facts)
    sentence = rhythm.say_feed(
        last_taken=day_of(facts["last"]),
        interval=facts["interval"],
        refusals=facts["refusals"],
        hold=hold,
        due=due.due_on,
        in_house_since=day_of(facts["since"]),
        today=today,
        own=facts["own"],
    )
    if due.due_on is None or due.due_on > today:
        actions = HELD_ACTIONS if hold and hold.covers(today) else FEED_ACTIONS
        return Said(Urgency.HELD, "held", sentence, actions)
    return by_day(due.due_on, today, sentence, FEED_ACTIONS)


def by_day(due_on: date, today: date, sentence: str, actions: tuple[Action, ...]) -> Said:
    """Due today, or so many days over."""
    days = (today - due_on).days
    if days <= 0:
        return Said(Urgency.DUE, "due today", sentence, actions)
    return Said(Urgency.OVER, f"{days} day{'s' if days > 1 else ''} over", sentence, actions)


def hardened(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals whose hardening has ended and that were not fed since the molt."""
    rows = Specimen.objects.filter(pk__in=ids, standing__last_molt__isnull=False).here()
    molted = {pk: day for pk, day in rows.values_list("pk", "standing__last_molt") if day}
    fed = last_taken(list(molted))
    unfed = [pk for pk, day in molted.items() if pk not in fed or fed[pk] < day]
    held = holds.gather(unfed)
    for pk in unfed:
        ends = [hold.ends for hold in held[pk] if hold.kind is HoldKind.HARDENING and hold.ends]
        if ends:
            day = max(ends)
            yield StoredDue(pk, day, day, {"molted": molted[pk].isoformat()}, day + timedelta(days=14))


def say_hardened(due: StoredDue, today: date) -> Said:
    """Hardening is over: a first meal can be offered."""
    molted = date.fromisoformat(due.facts["molted"])
    sentence = f"Molted {say_days((today - molted).days)}. Offer a first meal once the fangs are black."
    return Said(Urgency.LOOK, "hardening over", sentence, FEED_ACTIONS)


attention.register(DueKind("feed", "Feeds", feeds, say_feed, by_day=True, order=10))
attention.register(DueKind("hardening", "Hardening over", hardened, say_hardened, order=20))
