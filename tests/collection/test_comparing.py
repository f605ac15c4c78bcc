"""A size among others, in words; few others are said to be too few."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.comparing import among_mates, among_others

SIZES = st.lists(st.floats(0.1, 300), max_size=40)


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (9.0, "The largest of 11 clutch mates at 5i."),
        (6.5, "3rd largest of 11 clutch mates at 5i."),
        (6.0, "3rd largest of 11 clutch mates at 5i."),  # as large as the fourth: the better place for both
        (0.5, "The smallest of 11 clutch mates at 5i."),
    ],
)
def test_the_place_in_a_clutch(size, said):
    assert among_mates(size, [8.0, 7.0, 6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0, 1.0], "5i") == said


def test_numerals_are_english():
    found = [among_mates(1.0, [2.0] * larger + [0.5], "L3").split()[0] for larger in (10, 11, 12, 20, 21, 22)]
    assert found == ["11th", "12th", "13th", "21st", "22nd", "23rd"]


def test_the_share_of_the_species():
    assert among_others(7.5, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10], "L3") == (
        "Larger than 70 % of the 10 others of its species at L3."
    )
    assert "50 %" in among_others(5, [5] * 6, "L3")
    assert [among_others(size, [5] * 6, "L3").split()[2] for size in (4, 6)] == ["none", "all"]


def test_few_are_said_to_be_too_few():
    assert among_mates(5, [4], "L3") == "1 clutch mate measured at L3: too few to compare with."
    assert among_others(5, [], "L3") == "No others of its species measured at L3: too few to compare with."


def test_a_size_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        among_mates(5, [0.0], "L3")


@given(st.floats(0.1, 300), SIZES)
def test_something_is_always_said_and_ends_as_a_sentence(size, others):
    assert among_mates(size, others, "L3").endswith(".")
    assert among_others(size, others, "L3").endswith(".")
