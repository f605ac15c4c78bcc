"""How two animals are related, in words."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding.kinship import Animal, Pedigree
from breeding.relations import Relative, relation

FEMALES = set("ABDFHMNPab")


def family(text, **more):
    """`x=DxS`: dam D, sire S; capital and small letters as in FEMALES are females, s-z males."""
    found = {}
    for word in text.split():
        one, _, parents = word.partition("=")
        dam, _, sire = parents.partition("x")
        sex = "female" if one[0] in FEMALES else "male" if one[0] in "RSTUVWst" else ""
        found[one] = Relative(dam or None, sire or None, sex)
    return found | more


SAID = {
    "full sisters": ("D S a=DxS b=DxS", "a", "b"),
    "full sister and brother": ("D S a=DxS s=DxS", "a", "s"),
    "full siblings": ("D S x=DxS y=DxS", "x", "y"),
    "half sisters": ("D S T a=DxS b=DxT", "a", "b"),
    "half brothers": ("D F S s=DxS t=FxS", "s", "t"),
    "mother and daughter": ("D S a=DxS", "D", "a"),
    "daughter and mother": ("D S a=DxS", "a", "D"),
    "father and child": ("D S x=DxS", "S", "x"),
    "grandmother and grandson": ("D S a=DxS s=ax", "D", "s"),
    "great-grandfather and great-granddaughter": ("D S P=DxS F=Px b=Fx", "S", "b"),
    "aunt and niece": ("D S A=DxS P=DxS b=Px", "A", "b"),
    "nephew and uncle": ("D S s=DxS P=DxS t=Px", "t", "s"),
    "great-aunt and great-niece": ("D S A=DxS P=DxS F=Px b=Fx", "A", "b"),
    "half aunt and niece": ("D S T A=DxS P=DxT b=Px", "A", "b"),
    "first cousins": ("D S P=DxS F=DxS a=Px b=Fx", "a", "b"),
    "first cousins once removed": ("D S P=DxS F=DxS a=Px H=Fx b=Hx", "a", "b"),
    "second cousins": ("D S P=DxS F=DxS M=Px N=Fx a=Mx b=Nx", "a", "b"),
    "half first cousins": ("D S T P=DxS F=DxT a=Px b=Fx", "a", "b"),
    "double first cousins": ("D S H T P=DxS F=DxS U=HxT V=HxT a=PxU b=FxV", "a", "b"),
    "half sisters, and first cousins once removed": (
        "D S H T U=HxT F=HxT V=Fx a=DxU b=DxV", "a", "b",
    ),
    "full sisters, and double first cousins": ("D S P=DxS U=DxS a=PxU b=PxU", "a", "b"),
    "not related, as far as is known": ("a b", "a", "b"),
    "one and the same animal": ("a", "a", "a"),
}  # fmt: skip


@pytest.mark.parametrize("words", SAID)
def test_it_is_said_in_words(words):
    text, a, b = SAID[words]
    assert relation(family(text), a, b).words == words


def test_sac_mates_are_full_siblings_unless_their_sires_differ():
    mates = {"a": Relative("D", None, "female", "D/1"), "b": Relative("D", None, "female", "D/1"), "D": Relative()}
    assert relation(mates, "a", "b").words == "full sisters from one sac"
    mates |= {"a": Relative("D", "s", "female", "D/1"), "b": Relative("D", "t", "female", "D/1")}
    assert relation(mates, "a", "b").words == "half sisters"


def test_sac_mates_of_strangers_are_siblings_too():
    mates = {one: Relative(clutch="bought") for one in "ab"}
    assert relation(mates, "a", "b").words == "full siblings from one sac"


def test_clones_are_one_animal_and_their_kin_is_hers():
    line = family("D S P=DxS F=DxS", c=Relative("P", clonal=True), e=Relative("c", clonal=True))
    assert relation(line, "e", "P").words == "clones, genetically one animal"
    assert relation(line, "e", "F").words == "full siblings"


def test_more_ties_than_can_be_said_are_counted_not_listed():
    text = "D S P=DxS U=DxS F=PxU V=PxU H=FxV T=FxV a=HxT b=HxT"
    words = relation(family(text), "a", "b").words
    assert words.startswith("full sisters, and double first cousins")
    assert words.endswith("more distantly related besides")


def test_who_is_not_in_the_family_is_refused():
    with pytest.raises(ValueError, match="x is not in the pedigree"):
        relation({"a": Relative()}, "a", "x")


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_words_and_number_agree_on_who_is_kin_at_all(parents):
    animals, relatives = [Animal(0), Animal(1)], {0: Relative(), 1: Relative()}
    for d, s in parents:
        n = len(animals)
        dam, sire = d % n, s % n if s % n != d % n else None
        animals.append(Animal(n, dam, sire))
        relatives[n] = Relative(dam, sire)
    pedigree = Pedigree(animals)
    last = len(animals) - 1
    for other in range(last):
        assert relation(relatives, last, other).related == (pedigree.kinship(last, other) > 0)
