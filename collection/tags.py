"""Tags on labels: eight characters whose last one checks the others, so a slip of the thumb is caught.

Check character: ISO/IEC 7064:2003, MOD 37,36, a hybrid system over 0–9 and A–Z; it catches every single wrong
character and nearly every swap of neighbours. Characters drawn are Crockford's base 32 (no I, L, O, U), so that a tag
read aloud or typed from print has one reading. A tag is random and says nothing about the animal.
"""

import random
import re
from collections.abc import Callable

ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
MISREAD = str.maketrans("OIL", "011")
MODULUS = len(ALPHANUMERIC)  # M; the other number of the system's name is M + 1


def check_character(text: str) -> str:
    """Return the ISO/IEC 7064 MOD 37,36 check character of `text` (0–9, A–Z, upper case; without it)."""
    if not text:
        raise ValueError("There is nothing to check: a tag has at least one character before the last.")
    product = MODULUS
    for character in text:
        product = _step(product, _value(character))
    return ALPHANUMERIC[(MODULUS + 1 - product) % MODULUS]


def is_valid(text: str) -> bool:
    """Say whether the last character of `text` is the check character of the others."""
    if len(text) < 2 or any(character not in ALPHANUMERIC for character in text):
        return False
    return check_character(text[:-1]) == text[-1]


def draw(source: Callable[[], int] | random.Random) -> str:
    """Return a new tag; `source` gives random bytes (0–255) or is a Random.

    Draws again, about once in nine, until the check character is one of Crockford's too.
    """
    while True:
        body = "".join(CROCKFORD[_byte(source) % len(CROCKFORD)] for _ in range(LENGTH - 1))
        check = check_character(body)
        if check in CROCKFORD:
            return body + check


def read(text: str) -> str | None:
    """Return the tag in what was typed or scanned, or None.

    Takes a code, or any URL whose last path part is one; spaces, hyphens and case do not matter, O reads as 0, I and
    L as 1.
    """
    path = re.split(r"[?#]", text.strip(), maxsplit=1)[0].rstrip("/")
    code = re.sub(r"[\s-]", "", path.rsplit("/", 1)[-1]).upper().translate(MISREAD)
    if len(code) != LENGTH or any(character not in CROCKFORD for character in code):
        return None
    return code if is_valid(code) else None


def _byte(source: Callable[[], int] | random.Random) -> int:
    return source.randrange(256) if isinstance(source, random.Random) else source()


def _step(product: int, value: int) -> int:
    """Return P' = 2·((P + a) mod M, M in place of 0) mod (M + 1)."""
    return ((product + value) % MODULUS or MODULUS) * 2 % (MODULUS + 1)


def _value(character: str) -> int:
    value = ALPHANUMERIC.find(character)
    if value < 0 or len(character) != 1:
        raise ValueError(f"“{character}” is not a digit or a capital letter A–Z.")
    return value
