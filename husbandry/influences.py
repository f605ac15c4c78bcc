"""The registry of what bears on feeding without stopping it: other apps know of pairings, and husbandry asks them."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from husbandry.rhythm_choice import Influence

Source = Callable[[Sequence[int]], Mapping[int, Sequence[Influence]]]

sources: dict[str, Source] = {}


def influence_source(name: str) -> Callable[[Source], Source]:
    """Register a source of influences under a name; it gets specimen ids and answers with theirs."""

    def keep(source: Source) -> Source:
        sources[name] = source
        return source

    return keep


def gather(ids: Sequence[int]) -> dict[int, list[Influence]]:
    """All influences on the feeding of these animals, from every source."""
    found: dict[int, list[Influence]] = defaultdict(list)
    for name in sorted(sources):
        for pk, influences in sources[name](ids).items():
            found[pk].extend(influences)
    return found
