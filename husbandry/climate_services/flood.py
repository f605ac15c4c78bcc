"""A limit on how often a device may call, kept in memory: refusing must cost less than the flood does."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable

BURST = 120  # a hub that sends forty sensors one by one, twice, with room
A_SECOND = 10.0
MOST_CALLERS = 1000


class Sluice:
    """A bucket of leave for each caller, filled again with time. Also counts what it turned away."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self.left: dict[str, tuple[float, float]] = {}
        self.turned_away: Counter[str] = Counter()
        self.lock = threading.Lock()
        self.told_at: dict[str, float] = {}

    def lets_in(self, caller: str) -> bool:
        """Whether this caller may have one more message read."""
        now = self.clock()
        with self.lock:
            if len(self.left) > MOST_CALLERS:
                self.left.clear()
            left, then = self.left.get(caller, (float(BURST), now))
            left = min(left + (now - then) * A_SECOND, float(BURST))
            allowed = left >= 1
            self.left[caller] = (left - 1 if allowed else left, now)
            return allowed

    def turn_away(self, caller: str) -> None:
        """Count one more that was not let in."""
        with self.lock:
            self.turned_away[caller] += 1

    def to_tell(self, caller: str) -> int:
        """How many were turned away since it was last written down; at most once a second is there something to say."""
        now = self.clock()
        with self.lock:
            if not self.turned_away[caller] or now - self.told_at.get(caller, now - 2) < 1:
                return 0
            self.told_at[caller] = now
            return self.turned_away.pop(caller)


sluice = Sluice()
