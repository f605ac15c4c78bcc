"""A size among others, in words; few others are said to be too few."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.comparing import Life, among_mates, among_others, at_same_age

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


GROWN = Life(((20, 4.0), (60, 5.2), (110, 6.8)), until=150)


@pytest.mark.parametrize(
    ("age", "size"), [(19, None), (20, 4.0), (59, 4.0), (60, 5.2), (109, 5.2), (110, 6.8), (150, 6.8), (151, None)]
)
def test_between_molts_it_has_the_size_of_the_last_one(age, size):
    assert GROWN.size_at(age) == size


def test_after_a_molt_that_nobody_measured_no_size_is_known():
    life = Life(((20, 4.0), (110, 6.8)), until=150, unmeasured=(60, 130))
    assert [life.size_at(age) for age in (59, 60, 109, 110, 129, 130)] == [4.0, None, None, 6.8, 6.8, None]
    assert life.known_until == 129


def test_who_was_never_measured_is_known_at_no_age():
    assert Life((), until=90, unmeasured=(30,)).known_until is None
    assert at_same_age(Life((), until=90), [GROWN], [GROWN]) == []


def test_at_the_same_age_only_those_count_whose_size_is_known_then():
    mates = [Life(((100, size),), until=200) for size in (6.0, 6.5, 7.0)]
    gone, unmeasured, not_yet = (
        Life(((100, 9.0),), until=140),
        Life(((100, 9.0),), until=200, unmeasured=(149,)),
        Life(((151, 9.0),), until=200),
    )
    said = at_same_age(GROWN, [*mates, gone, unmeasured, not_yet], [*mates, gone, unmeasured, not_yet])
    assert said == [
        "2nd largest of 4 clutch mates at 5 months of age.",
        "3 others of its species measured at 5 months of age: too few to compare with.",
    ]


def test_without_clutch_mates_it_is_only_set_beside_its_species():
    others = [Life(((10, 3.0 + n),), until=900) for n in range(8)]
    assert at_same_age(Life(((30, 6.5),), until=45), [], others) == [
        "Larger than 50 % of the 8 others of its species at 45 days of age."
    ]


@pytest.mark.parametrize(
    "wrong",
    [
        {"steps": ((60, 5.0), (20, 4.0)), "until": 90},
        {"steps": ((-1, 5.0),), "until": 90},
        {"steps": (), "until": -1},
        {"steps": ((1, 0.0),), "until": 90},
        {"steps": (), "until": 9, "unmeasured": (-3,)},
    ],
)
def test_a_life_that_nobody_can_have_lived_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\.$"):
        Life(**wrong)


LIVES = st.builds(
    lambda ages, sizes, until, unmeasured: Life(
        tuple(zip(sorted(ages), sizes, strict=False)), until, tuple(unmeasured)
    ),
    st.lists(st.integers(0, 3000), max_size=12),
    st.lists(st.floats(0.1, 300), min_size=12, max_size=12),
    st.integers(0, 4000),
    st.lists(st.integers(0, 4000), max_size=6),
)


@given(LIVES, st.integers(0, 4000))
def test_a_size_at_an_age_is_one_that_was_measured_before_it(life, age):
    size = life.size_at(age)
    assert size is None or size in [mm for since, mm in life.steps if since <= age <= life.until]


@given(LIVES)
def test_the_last_known_age_is_known_and_the_day_after_is_not(life):
    last = life.known_until
    if last is not None and life.size_at(last) is not None:
        assert life.size_at(last + 1) is None
