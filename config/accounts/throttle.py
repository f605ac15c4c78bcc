"""Growing delays on wrong passwords, and never a lock-out.

Kept in this process and not in the database: the server is one process, a stranger's request must not write to the
keeper's file, and a keeper who cannot wait restarts the server. Five free tries an account and twenty an address, then
2, 4, 8 … seconds up to a quarter of an hour. A browser that has signed in before has a count of its own, so a stranger
who hammers at an account does not keep its owner waiting.
"""

from __future__ import annotations

import ipaddress
import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

FREE_FOR_ACCOUNT = 5
FREE_FOR_ADDRESS = 20
LONGEST_WAIT = 15 * 60.0
FORGET_AFTER = 24 * 60 * 60.0
MOST_KEYS = 10_000


@dataclass
class _Count:
    tries: int = 0
    open_at: float = 0.0
    last: float = 0.0


class Gate:
    """Counts tries by key; times are seconds of any steady clock, given by the caller."""

    def __init__(self) -> None:
        self._counts: dict[str, _Count] = {}
        self._lock = threading.Lock()

    def enter(self, free: Mapping[str, int], now: float) -> float:
        """Count one try under each key and return 0, or return the seconds left to wait and count nothing.

        `free` gives for each key how many tries cost nothing. A try is counted before its outcome is known, so that
        tries made at once cannot share one place; success gives the places back through `clear`.

        >>> gate = Gate()
        >>> [gate.enter({"a": 1}, now) for now in (0, 0, 0, 2)]
        [0.0, 0.0, 2.0, 0.0]
        """
        with self._lock:
            wait = max((self._counts[key].open_at - now for key in free if key in self._counts), default=0.0)
            if wait > 0:
                return min(wait, LONGEST_WAIT)
            for key, tries in free.items():
                self._count(key, tries, now)
            return 0.0

    def clear(self, keys: Iterable[str]) -> None:
        """Forget these keys: the right password was given."""
        with self._lock:
            for key in keys:
                self._counts.pop(key, None)

    def _count(self, key: str, free: int, now: float) -> None:
        count = self._counts.pop(key, None)  # put back at the end: the order is that of the last try
        if count is None or now - count.last > FORGET_AFTER:
            count = _Count()
        count.tries += 1
        count.last = now
        over = count.tries - free
        count.open_at = now + min(LONGEST_WAIT, 2.0 ** min(over, 20)) if over > 0 else now
        self._counts[key] = count
        while len(self._counts) > MOST_KEYS:
            self._counts.pop(next(iter(self._counts)))


def keys_for(account: str, address: str, known_browser: str = "") -> dict[str, int]:
    """The keys under which one try to sign in is counted, and how many tries each gives for nothing.

    >>> sorted(keys_for("Keeper", "fe80::1:2:3:4"))
    ['account keeper', 'address fe80::/64']
    """
    if known_browser:
        return {f"browser {known_browser}": FREE_FOR_ACCOUNT}
    return {f"account {account.casefold()}": FREE_FOR_ACCOUNT, f"address {_network(address)}": FREE_FOR_ADDRESS}


def _network(address: str) -> str:
    """One machine owns a whole IPv6 /64, so that is what counts as an address."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return address
    return str(ipaddress.ip_network(f"{address}/64", strict=False)) if parsed.version == 6 else address
