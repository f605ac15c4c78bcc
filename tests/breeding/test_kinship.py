"""Inbreeding and kinship against printed pedigrees, exactly: every value is a fraction with a power of two below."""

from fractions import Fraction

import pytest

from breeding.kinship import Animal, Pedigree
from tests.breeding.pedigrees import read_pedigree, reference_rows


@pytest.mark.parametrize("row", reference_rows("kinship.csv"), ids=lambda row: f"{row['id']} {row['what']}")
def test_printed_values(row):
    pedigree = Pedigree(read_pedigree(row["pedigree"]))
    what, *ids = row["what"].split()
    value = pedigree.inbreeding()[ids[0]] if what == "F" else pedigree.kinship(*ids)
    assert Fraction(value) == Fraction(row["value"])


def line(step, generations):
    """A line of descent: `step` tells the dam and the sire of generation n, each by (generation, number)."""
    animals = [Animal((0, 0)), Animal((0, 1))]
    for n in range(1, generations + 1):
        dam, sire = step(n)
        animals += [Animal((n, 0), dam, sire), Animal((n, 1), dam, sire)]
    return Pedigree(animals).inbreeding()


def test_r3_2_full_sibs_generation_after_generation():
    """Falconer & Mackay, table 5.1."""
    found = line(lambda n: ((n - 1, 0), (n - 1, 1)), 10)
    printed = [0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.78515625, 0.826171875, 0.859375]
    assert [found[n, 0] for n in range(2, 11)] == printed


def test_r3_3_half_sibs_by_the_recurrence():
    """F = (1 + F″ + 6F′) / 8: each time the sire of before with two of his half-sib daughters."""
    animals = [Animal("s0"), *(Animal(f"d0.{i}") for i in range(10))]
    sires, dams = "s0", [f"d0.{i}" for i in range(10)]
    for n in range(1, 10):
        animals += [
            Animal(f"s{n}", dams[0], sires),
            *(Animal(f"d{n}.{i}", dams[i], sires) for i in range(1, len(dams))),
        ]
        sires, dams = f"s{n}", [f"d{n}.{i}" for i in range(1, len(dams))]
    found, wanted = Pedigree(animals).inbreeding(), [Fraction(0), Fraction(0)]
    while len(wanted) < 10:
        wanted.append((1 + wanted[-2] + 6 * wanted[-1]) / 8)
    assert [Fraction(found[f"s{n}"]) for n in range(10)] == wanted
    assert float(wanted[-1]) == pytest.approx(0.610863, abs=5e-7)


def test_r3_4_selfing():
    animals = [Animal(0), *(Animal(n, dam=n - 1, sire=n - 1) for n in range(1, 6))]
    assert list(Pedigree(animals).inbreeding().values()) == [0, 0.5, 0.75, 0.875, 0.9375, 0.96875]


def test_r3_5_back_to_the_same_sire():
    animals = [Animal("S"), Animal(0), Animal(1, 0, "S"), *(Animal(n, n - 1, "S") for n in range(2, 6))]
    found = Pedigree(animals).inbreeding()
    assert [found[n] for n in range(2, 6)] == [0.25, 0.375, 0.4375, 0.46875]


def test_clones_are_one_animal_twice_and_no_more_inbred_than_their_mother():
    pedigree = Pedigree([Animal("a"), Animal("b", "a", mode="clonal"), Animal("c", "b", mode="clonal")])
    assert pedigree.inbreeding() == {"a": 0, "b": 0, "c": 0}
    assert pedigree.kinship("a", "c") == pedigree.kinship("b", "b") == 0.5


def test_clones_of_an_inbred_mother_keep_her_coefficient():
    family = read_pedigree("1 2 3=1x2 4=1x2 5=3x4")
    pedigree = Pedigree([*family, Animal("c", "5", mode="clonal"), Animal("d", "5", mode="clonal")])
    assert pedigree.inbreeding()["c"] == 0.25
    assert pedigree.kinship("c", "d") == 0.5 * (1 + 0.25)


def test_sac_mates_share_an_unknown_sire():
    mates = [Animal("d"), Animal("a", "d", clutch="d/1"), Animal("b", "d", clutch="d/1")]
    assert Pedigree(mates).kinship("a", "b") == 0.25
    apart = [Animal("d"), Animal("a", "d", clutch="d/1"), Animal("b", "d", clutch="d/2")]
    assert Pedigree(apart).kinship("a", "b") == 0.125


def test_sac_mates_of_unknown_parents_share_both():
    pedigree = Pedigree([Animal("a", clutch="bought"), Animal("b", clutch="bought"), Animal("c")])
    assert (pedigree.kinship("a", "b"), pedigree.kinship("a", "c")) == (0.25, 0)


def test_who_names_no_parent_takes_those_of_its_sac():
    pedigree = Pedigree([Animal("d"), Animal("s"), Animal("a", "d", "s", clutch=1), Animal("b", clutch=1)])
    assert (pedigree.kinship("b", "s"), pedigree.kinship("b", "d"), pedigree.kinship("a", "b")) == (0.25, 0.25, 0.25)


def test_the_order_in_which_animals_are_given_does_not_matter():
    animals = read_pedigree("1 2 3=2x1 4=-x1 5=3x4 6=2x5")
    assert Pedigree(animals[::-1]).inbreeding() == Pedigree(animals).inbreeding()


def test_new_young_change_nothing_of_before():
    animals = read_pedigree("1 2 3 4 5=1x2 6=1x2 7=3x4 8=5x6 9=8x7 10=9x5")
    whole, grown = Pedigree(animals), Pedigree(animals[:7])
    before = grown.inbreeding()
    assert grown.extend(animals[7:]) == {id_: whole.inbreeding()[id_] for id_ in ("8", "9", "10")}
    assert grown.inbreeding() == whole.inbreeding() == before | grown.inbreeding()
    assert grown.kinship("10", "6") == whole.kinship("10", "6")


def test_coefficients_on_file_are_taken_as_they_are():
    animals = read_pedigree("1 2 3=1x2 4=1x2 5=3x4 6=5x4")
    filed = {one: value for one, value in Pedigree(animals).inbreeding().items() if one != "6"}
    assert Pedigree(animals, known=filed).inbreeding()["6"] == Pedigree(animals).inbreeding()["6"] == 0.375
