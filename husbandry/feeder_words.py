"""How a feeder stands, in words."""

from __future__ import annotations

from datetime import date, timedelta

from collection.dates import say_date, say_days
from husbandry.demand import CONFIDENCE, DAYS, Outlast
from husbandry.feeder_outlook import SHOP_DAYS, Standing

METHODS = {"counted": "counted", "sampled": "sampled", "guessed": "guessed"}


def say_left(standing: Standing, today: date) -> str:
    """How many are there, and how that is known."""
    if standing.left < 0:
        return f"The book says −{-standing.left}: a purchase or a count is missing. Count what is there."
    if standing.counted is None:
        return f"{standing.left} by the book, never counted."
    how = METHODS.get(standing.counted.method, "counted")
    return f"{standing.left}, last {how} {say_days((today - standing.counted.on).days)}."


def say_lasting(outlast: Outlast, today: date) -> str:
    """When it runs out, in words: the day it may, and the day it likely does."""
    if outlast.early is None:
        return f"Lasts the coming {DAYS} days."
    early = _day(outlast.early, today)
    if outlast.likely is None:
        return f"May run out {early}."
    if outlast.likely == outlast.early:
        return f"Runs out {early}."
    return f"May run out {early}, likely {_day(outlast.likely, today)}."


def say_standing(standing: Standing, today: date) -> str:
    """Both, and the culture behind it."""
    if standing.need is None:
        lasting = f"Nobody is fed it in the coming {DAYS} days."
    else:
        lasting = say_lasting(standing.outlast, today)
    said = f"{say_left(standing, today)} {lasting}"
    count = standing.culture
    if count is not None and standing.stock.culture is not None:
        age = say_days((today - count.latest).days)
        said += f" {standing.stock.culture.code} holds about {count.count}, {count.get_method_display()} {age}."
    return said


def say_low(standing: Standing, today: date) -> str:
    """What is missing until the next shopping day, for the list of what needs the keeper."""
    name, left = str(standing.stock), max(standing.left, 0)
    wanted = standing.wanted(SHOP_DAYS)
    sure = f"{CONFIDENCE * 100:.0f} %"
    return f"{name[0].upper()}{name[1:]}: {left} left, {wanted} suffice for {SHOP_DAYS} days with {sure}."


def _day(days: int, today: date) -> str:
    if days == 0:
        return "today"
    if days == 1:
        return "tomorrow"
    day = today + timedelta(days=days)
    return f"on {day.strftime('%A')}" if days < 7 else f"on {day.strftime('%A')}, {say_date(day, today)}"
