"""A week of feeding in the invented collection: planned, shopped for, walked and settled. Numbers are days ago."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING
from uuid import UUID

from django.utils import timezone

from collection.models import Measurement
from husbandry.models import FeederEntry, FeederStock, Feeding, FeedRhythm, Place, Stay, Tap, Walk

if TYPE_CHECKING:
    from config.demo.load import Builder

# kind, mm, bred in, and its book: days ago, kind, number, how counted or what it cost
Book = tuple[tuple[int, str, int, str], ...]
STOCKS: tuple[tuple[str, float, str, Book], ...] = (
    ("fruit fly", 2.5, "", ((9, "counted", 40, "guessed"), (1, "counted", 30, "guessed"))),
    ("pinhead cricket", 4, "", (
        (9, "counted", 12, "counted"), (7, "bought", 100, "4.20"), (4, "lost", 6, ""), (1, "counted", 38, "sampled"),
    )),
    ("small cricket", 7, "", ((9, "counted", 3, "counted"), (7, "bought", 80, "4.80"), (1, "counted", 66, "counted"))),
    ("cricket", 12, "", ((9, "counted", 8, "counted"), (7, "bought", 20, "2.40"), (3, "given", 5, ""))),
    ("cricket", 18, "", (
        (9, "counted", 26, "counted"), (5, "bought", 12, "2.40"), (1, "counted", 4, "counted"),
    )),
    ("roach", 30, "U-002", ((9, "counted", 2, "counted"), (7, "culture", 15, ""), (2, "lost", 1, ""))),
)  # fmt: skip
NOTES = {
    (4, "lost"): "dead in the corner of the tub",
    (3, "given"): "to the neighbour upstairs",
    (2, "lost"): "got out",
}
HOURS = {"counted": 22, "bought": 11, "culture": 12, "lost": 20, "given": 17}

LEFT_IN = "B-002"
# carapace mm, abdomen mm, days ago: one that drank too little, one that is full
BODIES = (("A-002", 22.0, 14.5, 1), ("G-001", 26.0, 33.0, 3), ("B-003", 24.0, 40.0, 5))


def build(builder: Builder) -> None:
    """Rhythms for many, feeders with their books, yesterday's walk, and three that were measured."""
    builder.keep(_rhythms(builder))
    stocks = builder.keep(
        FeederStock(kind=kind, mm=mm, culture=builder.made[code].specimen if code else None)
        for kind, mm, code, _ in STOCKS
    )
    builder.keep(_entry(builder, stock, *row) for stock, (*_, book) in zip(stocks, STOCKS, strict=True) for row in book)
    builder.keep(
        Measurement(
            specimen=builder.made[code].specimen,
            earliest=builder.ago(days),
            latest=builder.ago(days),
            carapace_mm=carapace,
            abdomen_mm=abdomen,
        )
        for code, carapace, abdomen, days in BODIES
    )
    _walk(builder)
    builder.keep([_left_in(builder)])


def _left_in(builder: Builder) -> Feeding:
    """Prey that was left in last evening: the next walk asks what became of it."""
    animal, day = builder.made[LEFT_IN].specimen, builder.ago(1)
    return Feeding(specimen=animal, on=day, outcome="left", prey="cricket", prey_mm=18, logged_at=_at(day, 19))


def _rhythms(builder: Builder) -> list[FeedRhythm]:
    slow = builder.made["G-001"].specimen.taxon
    tray = Place.objects.get(name="Tray of cups")
    return [
        FeedRhythm(place=tray, stage="young", days=4, since=builder.ago(250), reason="all cups on one evening"),
        FeedRhythm(
            taxon=slow,
            season_from=11,
            season_to=2,
            days=28,
            since=builder.ago(400),
            reason="the cold months on the lowest shelf",
        ),
    ]


def _entry(builder: Builder, stock: FeederStock, days: int, kind: str, number: int, detail: str) -> FeederEntry:
    on = builder.ago(days)
    return FeederEntry(
        stock=stock,
        on=on,
        kind=kind,
        number=number,
        method=detail if kind == "counted" else "",
        cost=Decimal(detail) if kind == "bought" else None,
        note=NOTES.get((days, kind), ""),
        logged_at=_at(on, HOURS[kind]),
    )


def _at(day: date, hour: int, minute: int = 0) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(hour, minute)))


def _walk(builder: Builder) -> None:
    """The fullest evening of late: a tap for each of its meals, in walking order, ended with an empty phone."""
    day = max((builder.ago(days) for days in (1, 2, 3)), key=lambda on: Feeding.objects.filter(on=on).count())
    stays = (
        Stay.objects.open().select_related("enclosure").order_by("enclosure__place__walk_key", "enclosure__position")
    )
    where = {stay.specimen_id: stay.enclosure_id for stay in stays}
    meals = {meal.specimen_id: meal for meal in Feeding.objects.filter(on=day, specimen__in=where)}
    fed = [pk for pk in where if pk in meals]
    if not fed:
        return
    began = _at(day, 19)
    walk = Walk.objects.create(
        stops=list(dict.fromkeys(where[pk] for pk in fed)),
        only_due=True,
        by=builder.keeper,
        started_at=began,
        ended_at=began + timedelta(minutes=len(fed) + 3),
        phone_empty_at=began + timedelta(minutes=len(fed) + 3),
    )
    taps = [_tap(walk, meals[pk], where[pk], number, began) for number, pk in enumerate(fed, start=1)]
    Tap.objects.bulk_create(taps)


def _tap(walk: Walk, meal: Feeding, enclosure: int, number: int, began: datetime) -> Tap:
    at = began + timedelta(minutes=number)
    return Tap(
        key=UUID(int=number),
        walk=walk,
        kind="taken" if meal.outcome == "taken" else "refused",
        enclosure_id=enclosure,
        specimen_id=meal.specimen_id,
        feeding=meal,
        detail={"prey": meal.prey, "mm": meal.prey_mm, "number": meal.number},
        happened_at=at,
        received_at=at,
    )
