"""The stages of a clutch on a line of days: plain numbers for the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from breeding.development import StageWindow


@dataclass(frozen=True)
class Row:
    """One stage: its word, where its window lies in per cent of the width, its days, and why."""

    word: str
    x: float
    width: float
    likely: float
    window: StageWindow


@dataclass(frozen=True)
class Chart:
    """All stages, today on the same line, and the first days of months to read it by."""

    rows: list[Row]
    today: float | None
    months: list[tuple[float, date]]


def chart(laid: date, windows: Sequence[StageWindow], words: Mapping[str, str], today: date) -> Chart:
    """Place the windows on a line from the laying to a little after the last one closes."""
    last = max(max(window.closes for window in windows), today if today > laid else laid)
    days = max((last - laid).days + 4, 1)

    def at(day: date) -> float:
        return round((day - laid).days / days * 100, 2)

    rows = [
        Row(words.get(w.stage, w.stage), at(w.opens), round(at(w.closes) - at(w.opens), 2), at(w.likely), w)
        for w in windows
    ]
    return Chart(rows, at(today) if laid <= today <= last else None, _months(laid, last, at))


def _months(first: date, last: date, at) -> list[tuple[float, date]]:  # type: ignore[no-untyped-def]
    found, day = [], first.replace(day=1)
    while day <= last:
        if day > first:
            found.append((at(day), day))
        day = (day + timedelta(days=32)).replace(day=1)
    return found
