"""From the keeper's own headings to our fields: a guess that gives each field at most one column."""

import re
from collections.abc import Mapping, Sequence
from functools import cache

from collection.spreadsheets.cells import Cell, is_blank
from collection.spreadsheets.clocktimes import is_clock
from collection.spreadsheets.vocabulary import CLOCK_FIELDS, DATE_FIELDS, HEADINGS

_PARENTHESES = re.compile(r"[(\[{][^)\]}]*[)\]}]")
_NO_WORD = re.compile(r"[^a-z0-9♀♂#]+")
_GERMAN = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})
_BINOMIAL = re.compile(r"[A-Z](?:[a-z]{2,}|[a-z]{0,3}\.) (?:cf\. |aff\. |sp\. )?[a-z]{4,}\b")
_UNIT_WORDS = frozenset(["mm", "cm", "in", "inch", "inches", "zoll", "eur", "usd", "gbp", "chf", "g"])
_EXACT, _STARTS, _CONTAINS = 3, 2, 1


def normal_heading(text: str) -> str:
    """A heading as it is compared: lower case, umlauts spelled out, units and signs gone. "Größe (cm)" → "groesse"."""
    words = _NO_WORD.sub(" ", _PARENTHESES.sub(" ", text.casefold()).translate(_GERMAN)).split()
    kept = [word for word in words if word not in _UNIT_WORDS] or words
    return " ".join(kept)


@cache
def _all_known() -> frozenset[str]:
    fields = (words for kind in HEADINGS.values() for words in kind.values())
    return frozenset(normal_heading(word) for words in fields for word in words)


def is_known_heading(text: str) -> bool:
    """True when the text is, word for word, a heading that keepers use for any kind of record."""
    return bool(text) and normal_heading(text) in _all_known()


def guess_columns(headings: Sequence[str], samples: Sequence[Sequence[Cell]], kind: str) -> dict[str, int]:
    """Which column holds which field of this kind of record ("animals", "molts", "feedings", "pairings").

    `samples` are some rows of the table: a date field is not given to a column without a single digit in it.
    Exact headings win over longer ones that begin with or contain the word; each column and each field is used once.
    Raises KeyError for an unknown kind.
    """
    candidates = []
    for field, words in HEADINGS[kind].items():
        for index, heading in enumerate(headings):
            strength, length = _match(normal_heading(heading), words)
            if strength and _may_hold(field, samples, index):
                candidates.append((-strength, -length, index, field))
    chosen = _each_once(candidates)
    if "species" in HEADINGS[kind] and "species" not in chosen:
        _find_species(chosen, len(headings), samples)
    return chosen


def _find_species(chosen: dict[str, int], width: int, samples: Sequence[Sequence[Cell]]) -> None:
    """Give the species the column that holds scientific names, even when it is headed "Name" or not at all."""
    for index in range(width):
        texts = [str(row[index]).strip() for row in samples if index < len(row) and str(row[index]).strip()]
        if texts and 2 * sum(bool(_BINOMIAL.match(text)) for text in texts) > len(texts):
            for field in [field for field, column in chosen.items() if column == index]:
                del chosen[field]
            chosen["species"] = index
            return


def _each_once(candidates: list[tuple[int, int, int, str]]) -> dict[str, int]:
    chosen: dict[str, int] = {}
    for _, _, index, field in sorted(candidates):
        if field not in chosen and index not in chosen.values():
            chosen[field] = index
    return chosen


def _match(heading: str, words: Sequence[str]) -> tuple[int, int]:
    """How well the heading fits the field: the strength, and the length of the word that matched."""
    best = (0, 0)
    padded = f" {heading} "
    for word in map(normal_heading, words):
        if heading == word:
            return (_EXACT, len(word))
        if padded.startswith(f" {word} "):
            best = max(best, (_STARTS, len(word)))
        elif f" {word} " in padded:
            best = max(best, (_CONTAINS, len(word)))
    return best


def _may_hold(field: str, samples: Sequence[Sequence[Cell]], index: int) -> bool:
    """Whether the cells of a column speak against the field: dates need a digit, a clock of its own holds no dates."""
    if field in DATE_FIELDS and _never_a_date(samples, index):
        return False
    if field not in CLOCK_FIELDS:
        return True
    filled = [row[index] for row in samples if index < len(row) and not is_blank(row[index])]
    clocks = sum(is_clock(cell) for cell in filled)
    return 2 * clocks > len(filled) if CLOCK_FIELDS[field] else 2 * clocks <= len(filled)


def _never_a_date(samples: Sequence[Sequence[Cell]], index: int) -> bool:
    filled = [str(row[index]) for row in samples if index < len(row) and str(row[index]).strip()]
    return bool(filled) and not any(re.search(r"\d", text) for text in filled)


def mapping_key(headings: Sequence[str]) -> str:
    """What a remembered mapping is filed under: the headings without case, order kept, joined by a line feed."""
    return "\n".join(heading.casefold().strip() for heading in headings)


def known_fields(kind: str) -> Mapping[str, Sequence[str]]:
    """Every field of this kind with the headings that stand for it."""
    return HEADINGS[kind]
