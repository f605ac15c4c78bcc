"""The registry of holds: every app may stop the feeding clock, and husbandry asks them all."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from husbandry.rhythm import Hold

Source = Callable[[Sequence[int]], Mapping[int, Sequence[Hold]]]

sources: dict[str, Source] = {}


def hold_source(name: str) -> Callable[[Source], Source]:
    """Register a source of holds under a name; it gets specimen ids and answers with their holds."""

    def keep(source: Source) -> Source:
        sources[name] = source
        return source

    return keep


def gather(ids: Sequence[int]) -> dict[int, list[Hold]]:
    """All holds of these animals, from every source."""
    held: dict[int, list[Hold]] = defaultdict(list)
    for name in sorted(sources):
        for pk, holds in sources[name](ids).items():
            held[pk].extend(holds)
    return held
