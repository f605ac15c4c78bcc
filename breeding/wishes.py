"""What a keeper asks of a plan, as it stands in the address: so a plan can be kept, shared and changed by links."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from urllib.parse import urlencode

from breeding.planning import MOST_INBREEDING, Aim, Pair

PAIR = re.compile(r"(\d{1,18})x(\d{1,18})", re.ASCII)
MALE_LIMIT = 2  # a male is usually paired with more than one female
AHEAD = timedelta(days=366)


@dataclass(frozen=True)
class Wish:
    """The day, the aim, the limits, and what is fixed, forbidden or called home."""

    day: date
    today: date
    aim: Aim = Aim.BALANCE
    limit: float = MOST_INBREEDING
    male_limit: int = MALE_LIMIT
    taxa: frozenset[int] = frozenset()  # none: all of them
    fixed: frozenset[Pair] = frozenset()
    forbidden: frozenset[Pair] = frozenset()
    home: frozenset[int] = frozenset()

    def query(self) -> str:
        """The same wish as the query of an address; what is usual is left out."""
        parts: list[tuple[str, str]] = []
        if self.day != self.today:
            parts.append(("day", self.day.isoformat()))
        if self.aim is not Aim.BALANCE:
            parts.append(("aim", self.aim.value))
        if self.limit != MOST_INBREEDING:
            parts.append(("limit", f"{self.limit * 100:g}"))
        if self.male_limit != MALE_LIMIT:
            parts.append(("each", str(self.male_limit)))
        parts += [("taxon", str(one)) for one in sorted(self.taxa)]
        parts += [("fix", f"{f}x{m}") for f, m in sorted(self.fixed)]
        parts += [("not", f"{f}x{m}") for f, m in sorted(self.forbidden)]
        parts += [("home", str(one)) for one in sorted(self.home)]
        return "?" + urlencode(parts) if parts else "?"

    def fixing(self, pair: Pair) -> Wish:
        """With this pair in it, instead of what was fixed for her."""
        others = frozenset(one for one in self.fixed if one[0] != pair[0])
        return replace(self, fixed=others | {pair}, forbidden=self.forbidden - {pair})

    def without(self, pair: Pair) -> Wish:
        """Without this pair."""
        return replace(self, fixed=self.fixed - {pair}, forbidden=self.forbidden | {pair})

    def freeing(self, pair: Pair) -> Wish:
        """With nothing said of this pair."""
        return replace(self, fixed=self.fixed - {pair}, forbidden=self.forbidden - {pair})

    def calling(self, animal: int) -> Wish:
        """With an animal on loan asked home, or no longer."""
        return replace(self, home=self.home ^ {animal})

    def aiming(self, aim: Aim) -> Wish:
        """With another aim."""
        return replace(self, aim=aim)

    @property
    def changed(self) -> bool:
        """Whether anything is fixed, forbidden or called home."""
        return bool(self.fixed or self.forbidden or self.home)


def read(values: Mapping[str, list[str]], today: date) -> Wish:
    """The wish in an address. What cannot be read counts as not said: an old bookmark still opens the page."""
    return Wish(
        day=_day(_last(values, "day"), today),
        today=today,
        aim=Aim(_last(values, "aim")) if _last(values, "aim") in list(Aim) else Aim.BALANCE,
        limit=_number(_last(values, "limit"), 0, 100, MOST_INBREEDING * 100) / 100,
        male_limit=int(_number(_last(values, "each"), 1, 9, MALE_LIMIT)),
        taxa=frozenset(int(one) for one in values.get("taxon", []) if _plain(one)),
        fixed=_pairs(values.get("fix", [])),
        forbidden=_pairs(values.get("not", [])),
        home=frozenset(int(one) for one in values.get("home", []) if _plain(one)),
    )


def _last(values: Mapping[str, list[str]], name: str) -> str:
    found = values.get(name) or [""]
    return found[-1]


def _plain(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 18


def _day(text: str, today: date) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return today
    return day if today <= day <= today + AHEAD else today


def _number(text: str, low: float, high: float, usual: float) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return usual
    return value if low <= value <= high else usual


def _pairs(texts: list[str]) -> frozenset[Pair]:
    found = (PAIR.fullmatch(text) for text in texts)
    return frozenset((int(one[1]), int(one[2])) for one in found if one)
