"""The registry of clues to a premolt: every app may tell of refusals and signs, and whoever weighs them asks all."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Clues:
    """What speaks for or against a premolt of one animal: refusals since its last meal, a meal, dated signs."""

    refusals: int = 0
    ate: bool = False
    signs: tuple[tuple[str, date], ...] = ()


Source = Callable[[Sequence[int]], Mapping[int, Clues]]
sources: dict[str, Source] = {}


def clue_source(name: str) -> Callable[[Source], Source]:
    """Register a source of clues under a name; it gets specimen ids and answers with what it knows of them."""

    def keep(source: Source) -> Source:
        sources[name] = source
        return source

    return keep


def gather(ids: Sequence[int], without: Collection[str] = ()) -> dict[int, Clues]:
    """All clues of these animals, from every source but those that the asker is itself."""
    found: dict[int, Clues] = dict.fromkeys(ids, Clues())
    for name in sorted(sources.keys() - set(without)):
        for pk, told in sources[name](ids).items():
            known = found[pk]
            refusals = max(known.refusals, told.refusals)
            ate = (known.ate or told.ate) and not refusals
            found[pk] = Clues(refusals, ate, (*known.signs, *told.signs))
    return found
