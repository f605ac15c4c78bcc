"""Scientific names on paper: which letters stand in italics, and the genus cut short.

Italics are for the name itself; cf., aff., sp. and the like, the × of a hybrid, what stands in quotation marks and what
follows sp. (a place or a colour, not a name) are upright: International Code of Zoological Nomenclature, 4th edition,
recommendations of appendix B 6, and common practice for open nomenclature (Sigovini et al. 2016, Methods in Ecology
and Evolution 7:1217).
"""

from __future__ import annotations

import re

Run = tuple[str, bool]  # text, italic

UPRIGHT = re.compile(r"(?:cf|aff|nr|sp|spp|ssp|subsp|var)\.|×|x|hybrid|\(.*")
ENDS_THE_NAME = {"sp.", "spp."}
QUALIFIERS = {"cf": "cf.", "aff": "aff."}


def runs(name: str) -> list[Run]:
    """Return the name as words, each with whether it is italic.

    >>> runs("Chilobrachys sp. Vietnam")
    [('Chilobrachys', True), ('sp.', False), ('Vietnam', False)]
    """
    italic = True
    found: list[Run] = []
    for word in name.split():
        italic = italic and word[0] not in "‘“\"'"
        found.append((word, italic and not UPRIGHT.fullmatch(word)))
        italic = italic and word not in ENDS_THE_NAME
    return found


def qualified(name: str, rank: str) -> str:
    """Return the name with its cf. or aff. where the rank says so and the name does not yet.

    >>> qualified("Heterometrus silenus", "cf")
    'Heterometrus cf. silenus'
    """
    word = QUALIFIERS.get(rank)
    genus, _, rest = name.partition(" ")
    return name if word is None or not rest or word in name.split() else f"{genus} {word} {rest}"


def abbreviated(words: list[Run]) -> list[Run]:
    """Return the words with the genus cut to its first letter; a name of one word stays whole.

    >>> abbreviated([('Poecilotheria', True), ('regalis', True)])
    [('P.', True), ('regalis', True)]
    """
    for at, (word, italic) in enumerate(words[:-1]):
        if italic and word[0].isupper() and len(word) > 2:
            return [*words[:at], (f"{word[0]}.", True), *words[at + 1 :]]
    return list(words)
