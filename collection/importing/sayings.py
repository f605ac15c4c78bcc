"""Words of a keeper's list that name a source, a way of coming in, or what became of an animal."""

from __future__ import annotations

from collection.models import How, Origin
from collection.spreadsheets.cells import Misread, listed, shortened

_ORIGINS = {
    Origin.CAPTIVE_BRED: listed("c|cb|cbb|captive bred|captive-bred|bred|nz|nachzucht|dnz|own|eigene nz|enz|bred here"),
    Origin.CAPTIVE_BORN: listed("f|f1|f2|cb f1|captive born|born in captivity"),
    Origin.RANCHED: listed("r|cf|farmed|ranched|farm bred|fz|farmzucht"),
    Origin.WILD: listed("w|wc|wild|wild caught|wild-caught|ltc|wf|wildfang"),
    Origin.UNKNOWN: listed("u|unknown origin|unsure"),
}
_HOW = {
    How.SWAPPED: listed("swap|swapped|trade|traded|tausch|getauscht"),
    How.GIFT: listed("gift|given|present|geschenk|geschenkt"),
    How.BRED: listed("own|own breeding|bred here|self|eigene|eigene nz|eigene nachzucht"),
    How.CAUGHT: listed("wild|caught|own catch|selbst gefangen"),
}
HERE, DEAD, GONE, MISSING = "here", "dead", "gone", "missing"
_FATES = {
    HERE: listed("here|alive|ok|active|in collection|kept|yes|y|lebt|lebend|ja|aktiv|vorhanden|healthy"),
    DEAD: listed("dead|died|deceased|rip|r.i.p.|†|no|n|nein|tot|gestorben|verstorben"),
    GONE: listed("sold|passed on|given away|gave away|traded|gone|verkauft|abgegeben|verschenkt|getauscht"),
    MISSING: listed("missing|escaped|lost|entlaufen|vermisst|verschwunden"),
}


def read_origin(text: str) -> Origin:
    """The source code that "CB", "WC", "NZ" and the like stand for. Raises Misread."""
    for origin, words in _ORIGINS.items():
        if text.casefold() in words:
            return origin
    raise Misread(f"“{shortened(text)}” is no origin. Write CB, WC, farmed, or leave it empty.")


def how_from(seller: str, paid: bool) -> tuple[How | None, bool]:
    """How it came in, as far as the "from" column tells, and whether that column named a person at all."""
    for how, words in _HOW.items():
        if seller.casefold() in words:
            return how, False
    return (How.BOUGHT if paid else None), bool(seller)


def read_fate(text: str) -> str:
    """What became of the animal: here, dead, gone or missing. Raises Misread."""
    for fate, words in _FATES.items():
        if text.strip(" .!").casefold() in words or text.casefold() in words:
            return fate
    raise Misread(f"“{shortened(text)}” is no status. Write alive, dead, sold or missing.")
