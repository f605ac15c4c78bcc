"""Panels, columns, filters and log forms of husbandry on an animal's page and in the register."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any
from urllib.parse import quote

from django.db.models import Max
from django.urls import reverse

from collection import figures, panels, traces
from collection.dates import say_date
from collection.models import Specimen
from collection.panels import Column, Filter, Happening, LogForm, Onward, Panel, PanelKind
from collection.specimen_panels import alive
from collection.stages import Group, Stage
from husbandry import condition, prey, rhythm, rhythm_choice
from husbandry.feeding import Feed, FeedFacts, condition_of, feed_of, prey_limit_of
from husbandry.hold_sources import set_by_hand
from husbandry.models import Feeding, Hold, Place, Stay

SHOWN = 12


def meals(specimen: Specimen, today: date) -> Panel | None:
    """A year of meals, the rhythm in force and why, the holds."""
    year = (
        today.replace(year=today.year - 1)
        if (today.month, today.day) != (2, 29)
        else today.replace(year=today.year - 1, day=28)
    )
    meals = specimen.feedings.filter(on__gte=year).values_list("on", "outcome")
    rows = [(on, outcome == "taken") for on, outcome in meals]
    facts = FeedFacts([specimen.pk])
    feed = feed_of(specimen, facts)
    holds = [(hold.begins, hold.ends) for hold in feed.holds]
    group = Group(specimen.taxon.group)
    context: dict[str, Any] = {
        "strip": figures.meal_strip(rows, holds, today),
        "due": feed.due,
        "rhythm": feed.rhythm,
        "rows": specimen.feedings.all()[:SHOWN],
        "holds": _holds_of(specimen, feed, today),
        "influences": [rhythm_choice.say_influence(one, today) for one in feed.influences if _runs(one.ends, today)],
        "prey": prey.say_prey(group, Stage(specimen.standing.stage), prey_limit_of(specimen))
        if alive(specimen)
        else "",
        "condition": condition_of([specimen.pk]).get(specimen.pk) if group in condition.GROUPS else None,
        "today": today,
    }
    return Panel("husbandry/_panel_meals.html", context, "one year")


def _runs(ends: date | None, today: date) -> bool:
    return ends is None or ends > today


def _holds_of(specimen: Specimen, feed: Feed, today: date) -> list[tuple[rhythm.Hold, Hold | None]]:
    """What stops feeding now or will, from every app, each with its row where the keeper has set it."""
    rows = {(row.kind, row.begins, row.ends): row for row in set_by_hand([specimen.pk])}
    running = sorted((hold for hold in feed.holds if _runs(hold.ends, today)), key=lambda hold: hold.begins)
    return [(hold, rows.get((hold.kind.value, hold.begins, hold.ends))) for hold in running]


def whereabouts(specimen: Specimen, today: date) -> Panel | None:
    """Where it stands and stood, and what was done to its enclosure."""
    stays = list(specimen.stays.select_related("enclosure__place__parent")[:SHOWN])
    if not stays:
        return None
    here = next((stay for stay in stays if stay.ends is None), None)
    upkeep = here.enclosure.upkeep.all()[:5] if here else []
    return Panel("husbandry/_panel_whereabouts.html", {"stays": stays, "here": here, "upkeep": upkeep})


def place_of(ids: Sequence[int]) -> Mapping[int, str]:
    """In words, where each of these animals stands."""
    stays = Stay.objects.open().filter(specimen__in=ids).select_related("enclosure__place__parent")
    return {stay.specimen_id: stand(stay) for stay in stays}


def stand(stay: Stay) -> str:
    """A place in words: rack, shelf, position, enclosure."""
    place = stay.enclosure.place
    names = [place.parent.name] if place and place.parent and place.parent.parent_id else []
    names += [place.name] if place else []
    if stay.enclosure.position:
        names.append(f"place {stay.enclosure.position}")
    return ", ".join([*names, stay.enclosure.code])


def last_meal(ids: Sequence[int]) -> Mapping[int, str]:
    """The day of the last meal taken."""
    last = Feeding.objects.filter(specimen__in=ids, outcome="taken").values_list("specimen").annotate(on=Max("on"))
    return {pk: on.isoformat() for pk, on in last.order_by()}


def place_choices() -> list[tuple[str, str]]:
    """Places for the register's filter, in walking order, indented by their depth."""
    rows = Place.objects.in_walking_order().values_list("pk", "name", "walk_key")
    return [(str(pk), "\u2003" * (len(key) // 4 - 1) + name) for pk, name, key in rows]


def stands_in(found: Any, value: str) -> Any:
    """Animals that stand in a place or in anything inside it."""
    place = Place.objects.filter(pk=int(value)).first()
    if place is None:
        return found.none()
    stays = Stay.objects.open().filter(enclosure__place__walk_key__startswith=place.walk_key)
    return found.filter(pk__in=stays.values("specimen"))


def happenings(specimen: Specimen) -> Iterator[Happening]:
    """Meals, stays, holds and rhythms as lines of the full history."""
    for meal in specimen.feedings.all():
        detail = " ".join(filter(None, [str(meal.number) if meal.prey else "", meal.prey, meal.note]))
        yield Happening(meal.on, str(meal.on), f"food {meal.get_outcome_display()}", detail)
    for stay in specimen.stays.select_related("enclosure"):
        yield Happening(stay.begins, str(stay.begins), "moved", f"into {stay.enclosure.code}")
    for hold in specimen.holds.all():
        ends = f"until {hold.ends}" if hold.ends else "open"
        yield Happening(hold.begins, str(hold.begins), "hold", f"{hold.get_kind_display()}, {ends}")
    for row in specimen.feed_rhythms.all():
        yield Happening(row.since, str(row.since), "rhythm", str(row))


TIMES = {1: "once", 2: "twice"}


def doing(specimen: Specimen, day: date) -> Iterator[str]:
    """What husbandry knows of a day: the last meal, what was refused since, where it lived."""
    meal = specimen.feedings.filter(on__lte=day, outcome="taken").first()
    since = specimen.feedings.filter(on__lte=day).exclude(outcome="taken")
    if meal is None:
        yield "no meal on record"
    else:
        days = (day - meal.on).days
        what = f" ({meal.prey})" if meal.prey else ""
        yield f"{days} day{'' if days == 1 else 's'} after its last meal{what}"
        since = since.filter(on__gt=meal.on)
    if refused := since.count():
        yield f"refused {TIMES.get(refused, f'{refused} times')} since"
    lived = specimen.stays.filter(begins__lte=day).select_related("enclosure").first()
    if lived is not None and (lived.ends is None or lived.ends >= day):
        yield f"in {lived.enclosure.code} since {say_date(lived.begins)}"


traces.watch(Hold, "specimen")
panels.doings["husbandry"] = doing
panels.from_issue["exposure"] = ("Who was near", lambda issue: reverse("husbandry:exposure", args=[issue.pk]))
panels.timelines["husbandry"] = happenings
panels.register(PanelKind("meals", "Meals", 20, meals))
panels.register(PanelKind("whereabouts", "Whereabouts", 50, whereabouts))
panels.register_column(Column("place", "stands in", 10, place_of, in_head=True))
panels.register_column(Column("meal", "last meal", 20, last_meal))
panels.register_onward(
    Onward(
        "labels",
        "Print labels",
        lambda specimen: f"{reverse('husbandry:label-page')}?of=animals&codes={quote(specimen.code)}",
        lambda filters: f"{reverse('husbandry:label-page')}?of=animals&{filters}",
    )
)
panels.register_filter(Filter("place", "place", place_choices, stands_in))
panels.register_form(LogForm("meal", "Meal", "husbandry:feed-new", 10, alive))
panels.register_form(LogForm("water", "Water, upkeep", "husbandry:upkeep-new", 15, alive))
panels.register_form(LogForm("move", "Move", "husbandry:move-new", 60, alive))
panels.register_form(LogForm("rhythm", "Rhythm", "husbandry:rhythm-new", 70, alive))
panels.register_form(LogForm("hold", "Hold", "husbandry:hold-new", 75, alive))
