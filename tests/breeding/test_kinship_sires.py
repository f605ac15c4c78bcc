"""Several possible sires: the expectation equals the sum over every assignment, one draw a sac."""

from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breeding.kinship import Animal, Pedigree, coefficients, columns
from tests.breeding.pedigrees import as_animals, random_pedigree, tabular

SIBS = [Animal("S1"), Animal("S2"), Animal("D")]
HALF = {"S1": 0.5, "S2": 0.5}


def test_r3_13_one_sire_a_sac_or_one_an_animal():
    apart = Pedigree([*SIBS, Animal("a", "D", HALF), Animal("b", "D", HALF)])
    together = Pedigree([*SIBS, Animal("a", "D", HALF, clutch="D/1"), Animal("b", "D", HALF, clutch="D/1")])
    assert (apart.kinship("a", "b"), together.kinship("a", "b")) == (0.1875, 0.25)


def test_chances_of_any_kind_of_number_and_a_named_unknown():
    for half in (0.5, Fraction(1, 2), np.float32(0.5)):
        named = Pedigree([*SIBS, Animal("a", "D", {"S1": half, None: half})])
        assert named.kinship("a", "S1") == 0.125
        assert named.kinship("a", "D") == 0.25
    with pytest.raises(ValueError, match="add up to more than 1"):
        Pedigree([*SIBS, Animal("a", "D", {"S1": 0.7, None: 0.5})])


def test_r3_14_the_dams_brother_may_be_the_sire():
    family = [Animal("f"), Animal("m"), Animal("brother", "m", "f"), Animal("dam", "m", "f")]
    assert Pedigree([*family, Animal("x", "dam", {"brother": 0.3})]).inbreeding()["x"] == pytest.approx(
        0.075, abs=1e-12
    )


def test_r3_15_doubt_upon_doubt():
    animals = [Animal("S1"), Animal("S2"), Animal("D1"), Animal("D2"), Animal("O", "D1", {"S1": 0.6, "S2": 0.4})]
    animals += [Animal("P", "D2", "S1"), Animal("Q", "P", "O"), Animal("R", "P", {"S1": 0.5, "O": 0.4})]
    found = Pedigree(animals).inbreeding()
    assert found["Q"] == pytest.approx(0.075, abs=1e-12)
    assert found["R"] == pytest.approx(0.155, abs=1e-12)


def test_a_sire_that_is_certain_is_no_doubt():
    sure = Pedigree([*SIBS, Animal("a", "D", {"S1": 1.0}, clutch=1), Animal("b", "D", "S1", clutch=1)])
    assert sure.kinship("a", "b") == 0.25


def test_two_clones_that_may_both_be_the_parent_are_one():
    twins = [Animal("S1"), Animal("S2", "S1", mode="clonal"), Animal("D"), Animal("a", "D", HALF)]
    assert Pedigree(twins).kinship("a", "S1") == 0.25


@st.composite
def uncertain(draw):
    """Founders, then sacs of one to three: a dam, up to two possible sires in quarters, with or without a clutch."""
    sacs = draw(st.lists(st.tuples(*[st.integers(0, 99)] * 3, st.integers(0, 4), st.integers(1, 3)), max_size=4))
    rows, animals = [], [Animal(i) for i in range(3)]
    for number, (d, s, t, quarters, size) in enumerate(sacs):
        n = len(animals)
        sires = {s % n: quarters / 4}
        sires[t % n] = sires.get(t % n, 0) + draw(st.integers(0, 4 - quarters)) / 4
        shared = draw(st.booleans())
        dam = draw(st.sampled_from([None, d % n]))
        rows.append((range(n, n + size), dam, sires, shared))
        animals += [Animal(n + i, dam, sires, clutch=number if shared else None) for i in range(size)]
    return animals, rows


def expectation(animals, rows):
    """The mean relationship over every way in which the sires may have been drawn."""
    draws = []
    for young, dam, sires, shared in rows:
        rest = 1 - sum(Fraction(p) for p in sires.values())
        chances = [(sire, Fraction(p)) for sire, p in sires.items() if p] + ([(None, rest)] if rest else [])
        draws += (
            [[(list(young), dam, *c) for c in chances]]
            if shared
            else [[([one], dam, *c) for c in chances] for one in young]
        )
    total = [[Fraction(0)] * len(animals) for _ in animals]
    for assignment in product(*draws):
        weight, table, at = _one(animals, assignment)
        for i in range(len(animals)):
            for j in range(i + 1):
                total[i][j] += weight * table[max(at[i], at[j])][min(at[i], at[j])]
    return total


def _one(animals, assignment):
    """One assignment: unknown parents of a sac become rows of their own, which its young share."""
    weight, parents, extra = Fraction(1), {}, {}
    for number, (young, dam, sire, chance) in enumerate(assignment):
        weight *= chance
        for one in young:
            clutch = animals[one].clutch
            keys = [(number if clutch is None else ("c", clutch), role) for role in ("dam", "sire")]
            parents[one] = [key if known is None else known for known, key in zip((dam, sire), keys, strict=True)]
    rows, at = [], {}
    for one in range(len(animals)):
        for parent in parents.get(one, ()):
            if isinstance(parent, tuple) and parent not in extra:
                extra[parent] = at[parent] = len(rows)
                rows.append((None, None))
        at[one] = len(rows)
        rows.append(tuple(at[parent] for parent in parents.get(one, ())) or (None, None))
    return weight, tabular(rows), at


@given(uncertain())
@settings(max_examples=60, deadline=None)
def test_every_kinship_is_the_mean_over_all_assignments(family):
    animals, rows = family
    pedigree, wanted = Pedigree(animals), expectation(animals, rows)
    found = pedigree.inbreeding()
    for i in range(len(animals)):
        assert found[i] == pytest.approx(float(wanted[i][i] - 1), abs=1e-9)
        for j in range(i):
            assert pedigree.kinship(i, j) == pytest.approx(float(wanted[i][j]) / 2, abs=1e-9)


@given(uncertain(), st.integers(0, 12))
@settings(max_examples=40, deadline=None)
def test_extending_gives_what_starting_anew_gives(family, cut):
    animals, _ = family
    sacs = {animal.clutch for animal in animals[:cut]} - {None}
    first = [animal for i, animal in enumerate(animals) if i < cut or animal.clutch in sacs]
    grown = Pedigree(first)
    grown.extend(animal for animal in animals if animal not in first)
    assert grown.inbreeding() == pytest.approx(Pedigree(animals).inbreeding(), abs=1e-12)


@given(uncertain())
@settings(max_examples=40, deadline=None)
def test_the_way_for_many_parents_at_once_gives_the_same(family):
    nodes = Pedigree(family[0])._nodes
    table, by_columns = coefficients.diagonals(nodes), columns.diagonals(nodes, coefficients._last_use(nodes))
    assert by_columns[0] == pytest.approx(table[0], abs=1e-12)
    assert by_columns[1] == pytest.approx(table[1], abs=1e-12)


def test_r3_16_a_thousand_animals_both_ways():
    sires, dams = random_pedigree(1000)
    pedigree = Pedigree(as_animals(sires, dams))
    found = list(pedigree.inbreeding().values())
    assert sum(found) / 1000 == pytest.approx(0.289576, abs=5e-7)
    assert max(found) == pytest.approx(0.569084, abs=5e-7)
    means = pedigree.mean_kinship(range(1000))
    assert sum(means.values()) / 1000 == pytest.approx(0.252673, abs=5e-7)
    nodes = pedigree._nodes
    assert columns.diagonals(nodes, coefficients._last_use(nodes))[0] == pytest.approx(pedigree._diagonal, abs=1e-12)
