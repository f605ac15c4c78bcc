"""The order in which rows are taken: parents first, else as they stand, and who descends from itself is named."""

from hypothesis import given
from hypothesis import strategies as st

from collection.importing.ordering import parents_first

ROWS = st.lists(st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(["", *"abcdefgh", "z"])), max_size=12)


def test_parents_stand_before_their_young_and_others_keep_their_order():
    assert parents_first(["y", "x", "d", "s"], [("d", "s"), ("", ""), ("", ""), ("", "")]) == ([2, 3, 0, 1], set())


def test_a_circle_is_named_without_those_that_only_come_from_it():
    order, circle = parents_first(["a", "b", "c", "e"], [("b",), ("a",), ("a",), ("",)])
    assert sorted(order) == [0, 1, 2, 3]
    assert circle == {"a", "b"}


def test_a_line_as_long_as_a_list_is_walked():
    codes = [str(n) for n in range(50_000)]
    order, circle = parents_first(codes, [(str(n + 1),) for n in range(50_000)])
    assert (order[0], order[-1], circle) == (49_999, 0, set())


@given(ROWS)
def test_every_row_is_taken_once_and_after_its_parents_unless_they_are_in_a_circle(rows):
    codes, parents = [code for code, _ in rows], [(parent,) for _, parent in rows]
    order, circle = parents_first(codes, parents)
    assert sorted(order) == list(range(len(rows)))
    first = {code: codes.index(code) for code in codes}
    place = {row: at for at, row in enumerate(order)}
    for row, (parent,) in enumerate(parents):
        if parent in first and first[parent] != row and parent not in circle:
            assert place[first[parent]] < place[row]
