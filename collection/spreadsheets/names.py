"""A scientific name as a keeper typed it, matched against the names on record. Nothing near is taken in silence."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field

_QUOTES = re.compile("[\"'“”‘’„`´*_]")
_QUALIFIED = re.compile(r"\b(?:cf|aff|nr|near|sp|spp|spec|species|ssp)\b\.?")
_HYBRID = re.compile(r"(?:^|\s)[x×](?:\s|$)|\bhybrid\b")
_ABBREVIATED = re.compile(r"([a-z]{1,3})\.? ([a-z-]{3,})")
_SHORTEST_FOR_TWO = 12  # letters; in a shorter name two wrong letters may well be another name


@dataclass(frozen=True)
class TaxonMatch:
    """What a typed name was found to be.

    `kind`: exact, synonym, abbreviated, near (one letter off, one candidate), none. `suggestion` is the recorded name
    to show: what it was read as, or for none what it may have meant. `rest` stood behind it (author, locality).
    """

    key: Hashable | None
    kind: str
    suggestion: str = ""
    distance: int = 0
    rest: str = ""

    @property
    def sentence(self) -> str:
        """What to tell the keeper; empty when the name stands in the list as typed."""
        if self.kind in {"synonym", "abbreviated", "near"}:
            return f"read as {self.suggestion}"
        if self.kind == "none":
            return (
                f"not among your species; did you mean {self.suggestion}?"
                if self.suggestion
                else "not among your species"
            )
        return ""


def normal_name(text: str) -> str:
    """A name as it is compared: lower case, single spaces, no quotation marks, full stops and accents gone."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return " ".join(_QUOTES.sub("", plain).casefold().split())


@dataclass
class TaxonIndex:
    """The names on record, ready for many look-ups. `names` are accepted, `synonyms` all others; both give a key."""

    names: Mapping[str, Hashable]
    synonyms: Mapping[str, Hashable] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Prepare the look-up tables."""
        self._accepted = {key: name for name, key in reversed([*self.names.items()])}
        self._exact = {normal_name(name): key for name, key in self.names.items()}
        self._other = {
            normal_name(name): key for name, key in self.synonyms.items() if normal_name(name) not in self._exact
        }
        self._all = {**self._other, **self._exact}
        self._by_epithet: dict[str, set[str]] = defaultdict(set)
        for name in self._all:
            words = name.split()
            if len(words) == 2:
                self._by_epithet[words[1]].add(name)
        self._found: dict[str, TaxonMatch] = {}

    def match(self, text: str) -> TaxonMatch:
        """The best match of a typed name; the same text is looked up once."""
        if text not in self._found:
            self._found[text] = self._match(text)
        return self._found[text]

    def _match(self, text: str) -> TaxonMatch:
        name = normal_name(text)
        if not name:
            return TaxonMatch(None, "none")
        for end in _prefixes(name):
            known = self._known(name[:end])
            if known and not (_HYBRID.search(name[end:]) or _QUALIFIED.match(name[end:].strip())):
                return TaxonMatch(known.key, known.kind, known.suggestion, rest=_rest(text, name[end:]))
        if _QUALIFIED.search(name) or _HYBRID.search(name):
            return self._only_suggested(_QUALIFIED.sub(" ", name))
        return self._abbreviated(name) or self._near(name)

    def _known(self, name: str) -> TaxonMatch | None:
        if name in self._exact:
            return TaxonMatch(self._exact[name], "exact", self._accepted[self._exact[name]])
        if name in self._other:
            key = self._other[name]
            return TaxonMatch(key, "synonym", self._accepted.get(key, name))
        return None

    def _only_suggested(self, name: str) -> TaxonMatch:
        """A qualified name or a hybrid is never its nominal species; that one is at most what to ask about."""
        found = self._known(" ".join(name.split()[:2]))
        return TaxonMatch(None, "none", found.suggestion if found else "")

    def _abbreviated(self, name: str) -> TaxonMatch | None:
        """ "b. hamorii", "hamorii", and the same with one letter wrong in the epithet."""
        match = _ABBREVIATED.match(name)
        genus, epithet = (match[1], match[2]) if match else ("", name)
        if " " in epithet:
            return None
        for epithets in ({epithet}, {known for known in self._by_epithet if distance(known, epithet, 1) == 1}):
            found = {full for word in epithets for full in self._by_epithet.get(word, ()) if full.startswith(genus)}
            answer = self._one_of(found, "abbreviated" if epithets == {epithet} else "near")
            if answer:
                return answer
        return None

    def _one_of(self, names: Iterable[str], kind: str) -> TaxonMatch | None:
        keys = {self._all[name] for name in names}
        if len(keys) == 1:
            key = keys.pop()
            return TaxonMatch(key, kind, self._accepted.get(key, ""), distance=int(kind == "near"))
        if keys:
            return TaxonMatch(None, "none", " or ".join(sorted(self._accepted.get(key, "") for key in keys)))
        return None

    def _near(self, name: str) -> TaxonMatch:
        typed = " ".join(name.split()[:2])
        within = {known: steps for known in self._all if (steps := distance(known, typed, 2)) <= 2}
        one_off = self._one_of([known for known, steps in within.items() if steps == 1], "near")
        if one_off:
            return one_off
        if within and len(typed) >= _SHORTEST_FOR_TWO:
            keys = {self._all[known] for known in within}
            return TaxonMatch(
                None, "none", " or ".join(sorted(self._accepted.get(key, "") for key in keys)), distance=2
            )
        return TaxonMatch(None, "none")


def match_taxon(text: str, names: Mapping[str, Hashable], synonyms: Mapping[str, Hashable] | None = None) -> TaxonMatch:
    """One look-up; for many build a TaxonIndex. Case, spaces, authorship and abbreviated genera do not matter.

    One wrong letter (Damerau-Levenshtein distance 1, optimal string alignment) with a single candidate is accepted as
    "near" and must be shown; two wrong letters in a long name, "cf.", "sp." and hybrids give a suggestion only.
    """
    return TaxonIndex(names, synonyms or {}).match(text)


def _prefixes(name: str) -> list[int]:
    """Where the name may end: the whole text first, then shorter by one word, never below one word."""
    return [len(name), *sorted((space.start() for space in re.finditer(" ", name)), reverse=True)]


def _rest(text: str, tail: str) -> str:
    """What stood behind the name, in the keeper's own spelling."""
    words = len(tail.split())
    return " ".join(text.split()[-words:]) if words else ""


def distance(one: str, other: str, most: int) -> int:
    """Edits between two words: a letter put in, left out, changed, or two neighbours swapped; `most` + 1 when more.

    Optimal string alignment distance (F. J. Damerau, Comm. ACM 7(3), 1964, 171-176, counts these four errors).
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, start=1):
        before, last, row = row, before, [i]
        for j, against in enumerate(other, start=1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)
