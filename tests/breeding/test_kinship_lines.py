"""What the founders left to the living, and how fast inbreeding grows."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding.kinship import (
    Animal,
    Pedigree,
    UnknownParent,
    effective_size,
    inbreeding_rate,
    individual_rate,
    size_from_rate,
)
from tests.breeding.pedigrees import read_pedigree

LIVING = ("x", "y", "z")


@pytest.fixture
def three():
    """R3.9: one sire with two dams, three living young."""
    return Pedigree(read_pedigree("A B C x=BxA y=BxA z=CxA"))


def test_r3_9_mean_kinship_and_gene_diversity(three):
    assert three.mean_kinship(LIVING) == pytest.approx({"x": 7 / 24, "y": 7 / 24, "z": 0.25}, abs=1e-12)
    assert three.gene_diversity(LIVING) == pytest.approx(13 / 18, abs=1e-12)
    assert three.founder_genome_equivalents(LIVING) == pytest.approx(1.8, abs=1e-12)


def test_r3_9_founders(three):
    assert three.founder_contributions(LIVING) == pytest.approx({"A": 1 / 2, "B": 1 / 3, "C": 1 / 6}, abs=1e-12)
    assert three.founder_equivalents(LIVING) == pytest.approx(18 / 7, abs=1e-12)


def test_an_unknown_parent_is_a_founder_of_its_own():
    pedigree = Pedigree([Animal("d"), Animal("a", "d"), Animal("b", "d")])
    unknown = {UnknownParent("a", "sire"): 0.25, UnknownParent("b", "sire"): 0.25}
    assert pedigree.founder_contributions(["a", "b"]) == {"d": 0.5} | unknown
    assert str(UnknownParent("a", "sire")) == "unknown sire of a"


def test_sac_mates_share_their_unknown_founder():
    pedigree = Pedigree([Animal("d"), Animal("a", "d", clutch=1), Animal("b", "d", clutch=1)])
    sire = UnknownParent(1, "sire", of_clutch=True)
    assert pedigree.founder_contributions(["a", "b"]) == {"d": 0.5, sire: 0.5}
    assert str(sire) == "unknown sire of the sac 1"


def test_the_only_one_of_a_sac_of_strangers_is_one_founder():
    alone = Pedigree([Animal("a", clutch="bought")])
    assert alone.founder_contributions(["a"]) == {"a": 1}
    two = Pedigree([Animal("a", clutch="bought"), Animal("b", clutch="bought")])
    assert set(two.founder_contributions(["a"]).values()) == {0.5}


def test_a_doubtful_sire_leaves_his_part_of_the_doubt():
    pedigree = Pedigree([Animal("d"), Animal("s"), Animal("a", "d", {"s": 0.6})])
    found = pedigree.founder_contributions(["a"])
    assert found == pytest.approx({"d": 0.5, "s": 0.3, UnknownParent("a", "sire"): 0.2})


def test_nobody_living_has_no_mean(three):
    with pytest.raises(ValueError, match="No animals are named"):
        three.gene_diversity([])


def test_equivalent_generations():
    """Maignel et al. 1996: a parent known is half a generation, and half of its own besides."""
    found = Pedigree(read_pedigree("1 2 3=1x2 4=3x- 5=4x3")).generations()
    assert found == {"1": 0, "2": 0, "3": 1, "4": 1, "5": 2}


@pytest.mark.parametrize(
    ("females", "males", "size"), [(10, 10, 20), (10, 1, 40 / 11), (100_000, 100, 4e7 / 100_100), (3, 0, 0)]
)
def test_r3_10_effective_size(females, males, size):
    assert effective_size(females, males) == pytest.approx(size, abs=1e-12)


def test_r3_11_full_sibs_settle_at_a_rate_of_their_own():
    printed = [0, 0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.78515625, 0.826171875, 0.859375]
    rates = [inbreeding_rate(a, b) for a, b in pairwise(printed)]
    assert rates[-1] == pytest.approx(1 - (1 + math.sqrt(5)) / 4, abs=1e-3)
    assert size_from_rate(1 - (1 + math.sqrt(5)) / 4) == pytest.approx(2.618, abs=5e-4)
    assert size_from_rate(0) == math.inf


def test_r3_12_the_individual_rate():
    """Gutiérrez et al. 2009."""
    assert individual_rate(0.125, 3) == pytest.approx(0.064586, abs=5e-6)
    assert individual_rate(0.0, 1) is None


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: effective_size(-1, 3),
        lambda: effective_size(math.nan, 3),
        lambda: inbreeding_rate(1, 1),
        lambda: individual_rate(1.5, 3),
        lambda: individual_rate(0.1, math.inf),
        lambda: size_from_rate(math.nan),
    ],
)
def test_what_is_no_number_of_the_kind_is_refused(wrong):
    with pytest.raises(ValueError, match=r"0 or more|between|no number"):
        wrong()


@st.composite
def families(draw):
    animals = [Animal(i) for i in range(3)]
    for n in range(3, draw(st.integers(4, 14))):
        dam, sire = (draw(st.sampled_from([None, *range(n)])) for _ in range(2))
        animals.append(Animal(n, dam, sire))
    return animals


@given(families(), st.data())
@settings(max_examples=60, deadline=None)
def test_means_agree_with_the_kinships_two_by_two(animals, data):
    pedigree = Pedigree(animals)
    living = data.draw(st.lists(st.sampled_from([a.id for a in animals]), min_size=1, unique=True))
    means = pedigree.mean_kinship(living)
    for one in living:
        assert means[one] == pytest.approx(sum(pedigree.kinship(one, other) for other in living) / len(living))
    assert sum(pedigree.founder_contributions(living).values()) == pytest.approx(1)
