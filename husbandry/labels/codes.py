"""Codes on labels: the address they carry, their size in whole printer dots, and when they get too fine.

Method: ISO/IEC 18004. An address in capitals uses the alphanumeric mode, which takes a smaller symbol; error level H
survives worn print best. The limits of the module are those of a measurement with simulated cameras: from 0.375 mm on
every one reads it, below 0.25 mm not even a good phone does.
"""

from __future__ import annotations

import ipaddress
import math
import re
from functools import lru_cache
from urllib.parse import SplitResult, urlsplit

from husbandry.labels.items import QUIET

INCH = 25.4
RESOLUTIONS = (203, 300, 600)
SAFE_MM = 0.375
LEAST_MM = 0.25
ARM_MM, ALMOST_ARM_MM = 0.5, 0.45  # reads at arm's length
TAG_LENGTH = 8
MOST_MODULES = 37  # version 5: a longer address would need larger labels than most papers have
NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(\.(?!-)[a-z0-9-]{1,63}(?<!-))*", re.IGNORECASE | re.ASCII)


def address(text: str) -> str:
    """Return the house's address as labels carry it, for example HTTP://RACK.LOCAL:8000.

    Raises ValueError with a sentence: only scheme, a name or an IPv4 address, and a port, and nothing that a phone
    cannot reach.
    """
    text = text.strip().rstrip("/")
    parts = _split(text if "://" in text else f"http://{text}")
    name = (parts.hostname or "").rstrip(".")
    try:
        port = parts.port
    except ValueError:
        raise ValueError("The port is a number from 1 to 65535.") from None
    if parts.scheme.lower() not in {"http", "https"}:
        raise ValueError("An address begins with http:// or https://.")
    if parts.path or parts.query or parts.fragment or parts.username is not None:
        raise ValueError("Only the name and the port, nothing behind them: http://rack.local:8000.")
    _check_host(name)
    found = f"{parts.scheme}://{name}{f':{port}' if port else ''}".upper()
    if modules(found) > MOST_MODULES:
        raise ValueError("This address is too long for a code that fits on labels. Give the machine a shorter name.")
    return found


def _split(text: str) -> SplitResult:
    try:
        return urlsplit(text)
    except ValueError:
        raise ValueError("This is not an address; write for example http://rack.local:8000.") from None


def _check_host(name: str) -> None:
    if ":" in name:
        raise ValueError("An IPv6 address does not fit the code; use the machine's name or its IPv4 address.")
    if not NAME.fullmatch(name):
        raise ValueError("Write the machine's name or its IPv4 address, for example http://rack.local:8000.")
    loopback = name.lower() == "localhost" or name.startswith("127.")
    if re.fullmatch(r"[\d.]+", name):
        try:
            found = ipaddress.IPv4Address(name)
        except ValueError:
            raise ValueError(f"{name} is not an IPv4 address.") from None
        loopback = loopback or found.is_unspecified
    if loopback:
        raise ValueError(f"{name} means each device itself: a phone would look for the program on the phone.")


def host(house: str) -> str:
    """Return the name in an address, in small letters."""
    return urlsplit(house).hostname or ""


def is_numeric(house: str) -> bool:
    """Say whether the address is a number that the router may change one day."""
    return re.fullmatch(r"HTTPS?://[\d.]+(:\d+)?", house) is not None


def url(house: str, tag: str) -> str:
    """Return what the code says."""
    return f"{house}/Q/{tag}"


def modules(house: str) -> int:
    """Return how many modules an edge of the code has for tags under this address, without its quiet zone.

    Raises ValueError when the address holds a character that the alphanumeric mode lacks.
    """
    return len(matrix(url(house, "0" * TAG_LENGTH)))


@lru_cache(maxsize=2048)
def matrix(text: str) -> tuple[bytes, ...]:
    """Return the rows of the code, 1 for dark, without quiet zone. Raises ValueError for letters it cannot carry."""
    import segno  # a server that prints nothing holds none of it

    code = segno.make_qr(text, error="h", mode="alphanumeric", boost_error=False)
    return tuple(bytes(row) for row in code.matrix)


@lru_cache(maxsize=2048)
def bars(text: str) -> tuple[tuple[int, int, int], ...]:
    """Return the dark parts as (column, row, length) in modules: the longest bars of each row."""
    found = []
    for row, line in enumerate(matrix(text)):
        found += [(m.start(), row, m.end() - m.start()) for m in re.finditer(b"\x01+", line)]
    return tuple(found)


def dot(dpi: int) -> float:
    """Return the size of a printer's dot in mm."""
    return INCH / dpi


def dots_for(module_mm: float, dpi: int) -> int:
    """Return the least whole number of dots that makes a module of at least `module_mm`."""
    return max(1, math.ceil(module_mm / dot(dpi) - 0.01))


def edge(count: int, dots: int, dpi: int) -> float:
    """Return the edge in mm of a code of `count` modules with its quiet zone, each module `dots` printer dots."""
    return (count + 2 * QUIET) * dots * dot(dpi)


def is_fine(dots: int, dpi: int) -> bool:
    """Say whether a module of so many dots is below 0.375 mm, so that a worn print may not read."""
    return dots < dots_for(SAFE_MM, dpi)
