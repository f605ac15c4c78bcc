"""What a change of rhythm would do to the coming weeks, worked out before anything is stored."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db.models import OuterRef, Subquery

from collection.models import Specimen
from husbandry import feeding_figures, rhythm_choice, services
from husbandry.demand import Prey
from husbandry.feeding import Feed, FeedFacts, feed_of
from husbandry.feeding_figures import Plan
from husbandry.models import Feeding, FeedRhythm

DAYS = 56
MOST = 1000  # animals that are worked out before saving; a larger taxon is shown by its first ones


@dataclass
class Weeks:
    """The feeds of the coming weeks under one rhythm: on which days, of what, if all of it is taken."""

    days: Counter[date] = field(default_factory=Counter)
    prey: Counter[Prey] = field(default_factory=Counter)

    def add(self, feed: Feed, today: date, prey: Prey | None, number: int) -> None:
        """Count in the feeds of one animal."""
        until = today + timedelta(days=DAYS)
        days = rhythm_choice.coming(feed.due.due, feed.rhythm, feed.holds, today, until)
        self.days.update(days)
        if prey is not None and days:
            self.prey[prey] += number * len(days)

    def counts(self, today: date) -> list[int]:
        """Feeds a day from today on."""
        return [self.days[today + timedelta(days=day)] for day in range(DAYS)]


@dataclass(frozen=True)
class Preview:
    """The two side by side."""

    animals: int
    of: int
    changed: int
    now: Weeks
    then: Weeks
    today: date
    reason: str  # why the first animal would be fed as it would

    @property
    def plan(self) -> Plan:
        """The figure."""
        return feeding_figures.plan(self.now.counts(self.today), self.then.counts(self.today), self.today)

    @property
    def feeds(self) -> tuple[int, int]:
        """How many feeds, now and then."""
        return self.now.days.total(), self.then.days.total()

    @property
    def weeks(self) -> list[tuple[date, int, int]]:
        """Each week with its feeds, now and then."""
        now, then = self.now.counts(self.today), self.then.counts(self.today)
        starts = range(0, DAYS, 7)
        return [(self.today + timedelta(days=d), sum(now[d : d + 7]), sum(then[d : d + 7])) for d in starts]

    @property
    def prey(self) -> list[tuple[Prey, int, int]]:
        """Each prey with how much is needed, now and then."""
        known = self.now.prey | self.then.prey
        return [(prey, self.now.prey[prey], self.then.prey[prey]) for prey, _ in known.most_common()]


def preview(proposed: FeedRhythm, today: date) -> Preview:
    """Work out the coming weeks of all whom a rhythm concerns, under what holds now and under what is proposed."""
    whom = services.whom_it_feeds(proposed)
    ids = [animal.pk for animal in whom[:MOST]]
    before, after = FeedFacts(ids), FeedFacts(ids, proposed)
    now, then, changed, reason = Weeks(), Weeks(), 0, ""
    for animal in _with_prey(ids):
        prey = Prey(animal.ate, animal.ate_mm) if animal.ate else None
        old, new = feed_of(animal, before), feed_of(animal, after)
        now.add(old, today, prey, animal.ate_number or 1)
        then.add(new, today, prey, animal.ate_number or 1)
        changed += old.due.due != new.due.due or old.due.interval != new.due.interval
        reason = reason or new.due.reason
    return Preview(len(ids), len(whom), changed, now, then, today, reason)


def _with_prey(ids: list[int]) -> list[Any]:
    """The animals, each with what it was fed last."""
    last = Feeding.objects.filter(specimen=OuterRef("pk")).exclude(prey="").order_by("-on", "-id")
    found = Specimen.objects.filter(pk__in=ids).for_display().order_by("code")
    return list(
        found.annotate(
            ate=Subquery(last.values("prey")[:1]),
            ate_mm=Subquery(last.values("prey_mm")[:1]),
            ate_number=Subquery(last.values("number")[:1]),
        )
    )
