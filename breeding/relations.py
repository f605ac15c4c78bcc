"""How two animals are related, in words.

Every pair of lines that lead from the two up to siblings, without meeting before, is one relationship (Wright's paths);
so two animals can be half sisters and cousins as well. Lines are followed `DEPTH` generations up. Sac-mates count as
full siblings unless their known sires differ; clones are one animal.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Id = Any  # hashable: what animals are told apart by
Line = tuple[Id, ...]  # from the animal itself up to one of its ancestors
DEPTH = 6
MOST_SAID = 3
ORDINALS = ("", "first", "second", "third", "fourth", "fifth", "sixth")
REMOVED = ("", " once removed", " twice removed", " three times removed", " four times removed", " five times removed")
TIMES = ("", "", "double ", "triple ")
PAIRS = {"female": "sisters", "male": "brothers"}


@dataclass(frozen=True)
class Relative:
    """What is known of one animal: parents, sex ("female", "male" or ""), sac, and whether it is a clone of its dam."""

    dam: Id | None = None
    sire: Id | None = None
    sex: str = ""
    clutch: Hashable | None = None
    clonal: bool = False


@dataclass(frozen=True, order=True)
class Tie:
    """One relationship: steps up from either animal to two siblings, or straight from one to the other."""

    closeness: int  # steps in all; the fewer the closer
    kind: str  # "clone", "line", "full", "half"
    up: int
    down: int


@dataclass(frozen=True)
class Relation:
    """How two animals are related."""

    words: str
    ties: tuple[Tie, ...] = ()

    @property
    def related(self) -> bool:
        """Whether anything is known that makes them kin."""
        return bool(self.ties)


def relation(family: Mapping[Id, Relative], a: Id, b: Id) -> Relation:
    """The relation of two animals; `family` holds them and as many of their ancestors as are known.

    The words name them in the order asked: "mother and daughter" when `a` is the mother.
    Errors: ValueError when one is not in the family.
    """
    for one in (a, b):
        if one not in family:
            raise ValueError(f"{one} is not in the pedigree.")
    if a == b:
        return Relation("one and the same animal")
    sexes = (family[a].sex, family[b].sex)
    if _mother_line(family, a) == _mother_line(family, b):
        return Relation("clones, genetically one animal", (Tie(0, "clone", 0, 0),))
    found = Counter(_ties(family, _mother_line(family, a), _mother_line(family, b)))
    if not found:
        return Relation("not related, as far as is known")
    ordered = sorted(found)
    said = [_say(tie, found[tie], *sexes) for tie in ordered[:MOST_SAID]]
    if _sac_mates(family, a, b):
        said[0] += " from one sac"
    if len(ordered) > MOST_SAID:
        said.append("more distantly related besides")
    return Relation(", and ".join(said), tuple(ordered))


def _mother_line(family: Mapping[Id, Relative], one: Id) -> Id:
    """A clone stands for the mother it copies."""
    while one in family and family[one].clonal and family[one].dam is not None:
        one = family[one].dam
    return one


def _lines(family: Mapping[Id, Relative], one: Id) -> Iterator[Line]:
    """All lines from an animal up to its ancestors, itself first."""
    generation: list[Line] = [(one,)]
    for _ in range(DEPTH + 1):
        yield from generation
        longer = []
        for line in generation:
            longer += [(*line, parent) for parent in dict.fromkeys(_parents(family, line[-1]))]
        generation = longer


def _ties(family: Mapping[Id, Relative], a: Id, b: Id) -> Iterator[Tie]:
    """Each pair of lines that meets at its upper end only."""
    mine, others = list(_lines(family, a)), list(_lines(family, b))
    for line in mine:
        if line[-1] == b:
            yield Tie(len(line) - 1, "line", len(line) - 1, 0)
    for line in others:
        if line[-1] == a:
            yield Tie(len(line) - 1, "line", 0, len(line) - 1)
    for line in mine:
        for other in others:
            kind = _siblings(family, line[-1], other[-1])
            if kind and not set(line) & set(other):
                up, down = len(line) - 1, len(other) - 1
                yield Tie(up + down + (2 if kind == "full" else 3), kind, up, down)


def _siblings(family: Mapping[Id, Relative], u: Id, v: Id) -> str:
    """ "full", "half" or "": what two animals are to each other by their parents and their sac."""
    if u == v:
        return ""
    mine, others = (_parents(family, one) for one in (u, v))
    if _sac_mates(family, u, v) or (len(mine) == 2 and sorted(mine, key=repr) == sorted(others, key=repr)):
        return "full"
    return "half" if set(mine) & set(others) else ""


def _parents(family: Mapping[Id, Relative], one: Id) -> list[Id]:
    known = family.get(one, Relative())
    return [_mother_line(family, parent) for parent in (known.dam, known.sire) if parent is not None]


def _sac_mates(family: Mapping[Id, Relative], u: Id, v: Id) -> bool:
    one, other = family.get(u, Relative()), family.get(v, Relative())
    sires = {one.sire, other.sire} - {None}
    return one.clutch is not None and one.clutch == other.clutch and len(sires) < 2


def _say(tie: Tie, times: int, sex_a: str, sex_b: str) -> str:
    many = TIMES[times] if times < len(TIMES) else f"{times}-fold "
    return many + _name(tie, sex_a, sex_b)


def _name(tie: Tie, sex_a: str, sex_b: str) -> str:
    half = "half " if tie.kind == "half" else ""
    if tie.kind == "line":
        older, younger = (sex_b, sex_a) if tie.up else (sex_a, sex_b)
        names = _descent(tie.closeness, older, younger)
        return " and ".join(reversed(names) if tie.up else names)
    if not tie.up and not tie.down:
        return f"{half or 'full '}{_two(sex_a, sex_b)}"
    if not tie.up or not tie.down:
        older, younger = (sex_b, sex_a) if tie.up else (sex_a, sex_b)
        names = _aside(tie.up or tie.down, older, younger)
        return half + " and ".join(reversed(names) if tie.up else names)
    removed = abs(tie.up - tie.down)
    return f"{half}{ORDINALS[min(tie.up, tie.down)]} cousins{REMOVED[removed]}"


def _two(sex_a: str, sex_b: str) -> str:
    if sex_a == sex_b:
        return PAIRS.get(sex_a, "siblings")
    words = {"female": "sister", "male": "brother"}
    return f"{words[sex_a]} and {words[sex_b]}" if sex_a and sex_b else "siblings"


def _descent(steps: int, older: str, younger: str) -> tuple[str, str]:
    """Mother and daughter, great-grandfather and great-grandson."""
    great = "great-" * (steps - 2) + ("grand" if steps > 1 else "")
    elder = {"female": "mother", "male": "father"}.get(older, "parent")
    child = {"female": "daughter", "male": "son"}.get(younger, "child")
    return great + elder, great + child


def _aside(steps: int, older: str, younger: str) -> tuple[str, str]:
    """Aunt and niece, great-uncle and great-nephew."""
    great = "great-" * (steps - 1)
    elder = {"female": "aunt", "male": "uncle"}.get(older, "aunt or uncle")
    child = {"female": "niece", "male": "nephew"}.get(younger, "niece or nephew")
    return great + elder, great + child
