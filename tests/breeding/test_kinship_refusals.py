"""What cannot be is refused before anything is computed, in a keeper's words."""

import math
from datetime import date

import pytest

from breeding.kinship import Animal, Pedigree
from collection.dates import FuzzyDate

D, S = Animal("D"), Animal("S")

REFUSED = {
    "a circle of two": ([Animal("a", "b"), Animal("b", "a")], "nobody is its own ancestor"),
    "a circle over a sire": ([Animal("a"), Animal("b", "a", "d"), Animal("c", "b"), Animal("d", "c")], "comes from"),
    "a circle over a possible sire": ([D, Animal("a", "D", {"b": 0.5}), Animal("b", "a")], "own ancestor"),
    "its own parent": ([Animal("a", "a")], "a is named as its own parent"),
    "a male dam": ([Animal("m", sex="male"), Animal("a", "m")], "m is named as a dam but is a male"),
    "a female sire": ([D, Animal("f", sex="female"), Animal("a", "D", "f")], "f is named as a sire but is a female"),
    "a female possible sire": ([Animal("f", sex="female"), Animal("a", None, {"f": 0.1})], "is a female"),
    "a parent younger": (
        [Animal("d", hatched=date(2025, 5, 1)), Animal("a", "d", hatched=date(2024, 5, 1))],
        "d did not hatch before its young a",
    ),
    "a parent of the same day": (
        [Animal("d", hatched=date(2025, 5, 1)), Animal("a", "d", hatched=date(2025, 5, 1))],
        "did not hatch before",
    ),
    "a parent younger for sure": (
        [Animal("d", hatched=FuzzyDate.parse("2025")), Animal("a", "d", hatched=FuzzyDate.parse("2024-12"))],
        "did not hatch before",
    ),
    "a stranger": ([Animal("a", "nobody")], "nobody is a parent of a but is not in the pedigree"),
    "twice": ([D, D], "D stands twice"),
    "two dams of a sac": ([D, S, Animal("a", "D", clutch=1), Animal("b", "S", clutch=1)], "have two dams"),
    "a clone with a sire": ([D, S, Animal("a", "D", "S", mode="clonal")], "a clone has no sire"),
    "another mode": ([Animal("a", mode="budding")], "no way to have young"),
    "too much chance": ([D, S, Animal("a", "D", {"S": 0.6, "D": 0.5})], "add up to more than 1"),
    "a negative chance": ([S, Animal("a", None, {"S": -0.1})], "between 0 and 1"),
    "no number": ([S, Animal("a", None, {"S": math.nan})], "between 0 and 1"),
}


@pytest.mark.parametrize(("animals", "words"), REFUSED.values(), ids=REFUSED)
def test_it_is_refused(animals, words):
    with pytest.raises(ValueError, match=words):
        Pedigree(animals)


def test_a_circle_is_told_by_its_animals():
    with pytest.raises(ValueError, match=r"^a comes from c comes from b comes from a: nobody"):
        Pedigree([Animal("a", "c"), Animal("b", "a"), Animal("c", "b")])


def test_a_long_circle_is_told_by_its_first_animals():
    with pytest.raises(ValueError, match=r"^0 comes from 1 comes from 2 .* comes from … comes from 0: nobody"):
        Pedigree([Animal(i, (i + 1) % 5000) for i in range(5000)])


def test_what_extends_is_checked_too():
    pedigree = Pedigree([D, S])
    with pytest.raises(ValueError, match="stands twice"):
        pedigree.extend([Animal("D")])
    with pytest.raises(ValueError, match="not in the pedigree"):
        pedigree.extend([Animal("a", "x")])


def test_a_sire_found_later_is_named_for_the_whole_sac():
    pedigree = Pedigree([D, S, Animal("a", "D", clutch=1)])
    with pytest.raises(ValueError, match="for all its young at once"):
        pedigree.extend([Animal("b", "D", "S", clutch=1)])


def test_dates_that_overlap_refuse_nothing():
    mother = Animal("d", hatched=FuzzyDate.parse("2024"))
    assert Pedigree([mother, Animal("a", "d", hatched=date(2024, 6, 1))]).kinship("a", "d") == 0.25


def test_whoever_is_not_in_the_pedigree_has_no_kin():
    with pytest.raises(ValueError, match="x is not in the pedigree"):
        Pedigree([D]).kinship("D", "x")


def test_a_snail_may_be_dam_and_sire():
    both = [Animal("a"), Animal("b"), Animal("c", "a", "b"), Animal("e", "b", "a")]
    assert Pedigree(both).kinship("c", "e") == 0.25
