"""What husbandry wants noticed of meals: feeds, and the first one after a molt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from collection import attention
from collection.attention import Action, DueKind, HouseItem, Said, StoredDue, Urgency, house_source
from collection.dates import say_date, say_days
from collection.models import Specimen
from collection.stages import Group, Stage
from husbandry import fasting, feeder_outlook, holds, rhythm
from husbandry.feeder_words import say_low
from husbandry.feeding import Feed, FeedFacts, condition_of, feed_of, in_house_since, last_taken
from husbandry.rhythm import Hold, HoldKind


def feeds(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Stored due dates of feeds."""
    facts = FeedFacts(ids)
    for specimen in Specimen.objects.filter(pk__in=ids).here().for_display():
        feed = feed_of(specimen, facts)
        if feed.due.wanted is not None:
            yield StoredDue(specimen.pk, feed.due.wanted, feed.due.due, _feed_facts(feed, specimen))


def _feed_facts(feed: Feed, specimen: Specimen) -> dict[str, Any]:
    due, every, since = feed.due, feed.rhythm, in_house_since(specimen)
    facts: dict[str, Any] = {
        "last": due.last_taken.isoformat() if due.last_taken else None,
        "interval": due.interval,
        "refusals": due.refusals,
        "since": since.isoformat(),
        "own": bool(every and every.own),
        "why": every.reason if every else due.reason,
    }
    if every and every.name:
        facts["name"] = every.name
    if feed.alert_on:
        facts["alert"] = feed.alert_on.isoformat()
        facts["long"] = fasting.rule(Group(specimen.taxon.group), Stage(specimen.standing.stage))
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


ALERT = "look at the abdomen and offer water."
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
        name=facts.get("name", ""),
    )
    if (alert := day_of(facts.get("alert"))) is not None and today >= alert:
        rule = f", {facts['long']}" if "long" in facts else ""
        sentence = f"{sentence} That is a long fast{rule}: {ALERT}"
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


SPIDERS = (Group.TARANTULA, Group.TRUE_SPIDER)


def hardened(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals whose hardening has ended and that were not fed since the molt."""
    rows = Specimen.objects.filter(pk__in=ids, standing__last_molt__isnull=False).here()
    facts_of = rows.values_list("pk", "standing__last_molt", "taxon__group")
    found = [(pk, day, group) for pk, day, group in facts_of if day is not None]
    molted = {pk: day for pk, day, _ in found}
    groups = {pk: {"group": group} for pk, _, group in found if Group(group) not in SPIDERS}
    fed = last_taken(list(molted))
    unfed = [pk for pk, day in molted.items() if pk not in fed or fed[pk] < day]
    held = holds.gather(unfed)
    for pk in unfed:
        ends = [hold.ends for hold in held[pk] if hold.kind is HoldKind.HARDENING and hold.ends]
        if ends:
            day = max(ends)
            facts = {"molted": molted[pk].isoformat()} | groups.get(pk, {})
            yield StoredDue(pk, day, day, facts, day + timedelta(days=14))


def say_hardened(due: StoredDue, today: date) -> Said:
    """Hardening is over: a first meal can be offered."""
    molted = date.fromisoformat(due.facts["molted"])
    days = (due.wanted_on - molted).days
    hard = "its new skin is hard and has its colour" if "group" in due.facts else "the fangs are black"
    sentence = f"Molted {say_days((today - molted).days)}; hardening is reckoned with {days} days. "
    sentence += f"Offer a first meal once {hard}."
    return Said(Urgency.LOOK, "hardening over", sentence, FEED_ACTIONS)


def conditions(ids: Sequence[int]) -> Iterator[StoredDue]:
    """Animals whose abdomen was last measured far narrower than the carapace is long."""
    measured = condition_of(ids)
    here = set(Specimen.objects.filter(pk__in=measured).here().values_list("pk", flat=True)) if measured else set()
    for pk, (day, found) in measured.items():
        if found.thin and pk in here:
            yield StoredDue(pk, day, day, {"ratio": found.ratio, "says": found.sentence})


def say_condition(due: StoredDue, today: date) -> Said:
    """Thin: water, and a look. Measuring it again clears it."""
    sentence = f"{due.facts['says']} Measured on {say_date(due.wanted_on, today)}; measure again when it has drunk."
    actions = (Action("Water done", "husbandry:water-now"), Action("Measure", "collection:measure-new", post=False))
    return Said(Urgency.LOOK, "abdomen shrunken", sentence, actions)


@house_source("feeders")
def feeders(today: date) -> Iterator[HouseItem]:
    """Feeders that may not last until the next shopping day."""
    low = [one for one in feeder_outlook.recent(today).standings if one.low]
    if low:
        acts = (
            Action("Shopping list", "husbandry:shopping-list", post=False),
            Action("Feeders", "husbandry:feeder-list", post=False),
        )
        said = " ".join(say_low(one, today) for one in low[:LOW_SHOWN])
        more = f" And {len(low) - LOW_SHOWN} more." if len(low) > LOW_SHOWN else ""
        yield HouseItem("Feeders", Said(Urgency.LOOK, "running low", said + more, acts))


LOW_SHOWN = 3
attention.register(DueKind("feed", "Feeds", feeds, say_feed, by_day=True, order=10))
attention.register(DueKind("hardening", "Hardening over", hardened, say_hardened, order=20))
attention.register(DueKind("condition", "Shrunken abdomens", conditions, say_condition, order=40))
