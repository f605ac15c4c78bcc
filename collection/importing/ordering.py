"""In which order the rows of a file are taken: whoever others come from before those others, else as they stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence


def parents_first(codes: Sequence[str], parents: Sequence[Sequence[str]]) -> tuple[list[int], set[str]]:
    """Return the indexes of the rows, parents first, and the codes of those that descend from themselves.

    `codes` and `parents` hold one entry a row, compared as they are; an empty code names nobody. Of rows with one code
    the first is meant. Without a circle every parent in the file stands before its young; rows that no other row needs
    keep their order. Walks without recursion, for a line may be as long as a list.
    """
    first: dict[str, int] = {}
    for index, code in enumerate(codes):
        if code:
            first.setdefault(code, index)
    order: list[int] = []
    done, path, circle = set[int](), dict[int, Iterator[int]](), set[str]()
    for start in range(len(codes)):
        if start in done:
            continue
        path[start] = _above(start, parents, first)
        while path:
            row, waiting = next(reversed(path.items()))
            above = next(waiting, None)
            if above is None:
                del path[row]
                done.add(row)
                order.append(row)
            elif above in path:
                on_the_way = list(path)
                circle.update(codes[one] for one in on_the_way[on_the_way.index(above) :])
            elif above not in done:
                path[above] = _above(above, parents, first)
    return order, circle


def _above(row: int, parents: Sequence[Sequence[str]], first: dict[str, int]) -> Iterator[int]:
    """The rows of its parents in this file; a row that names itself is refused elsewhere."""
    return (first[code] for code in parents[row] if code in first and first[code] != row)
