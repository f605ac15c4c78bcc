"""What bears on the risk of a meeting: named factors in words, and never a percentage."""

from dataclasses import replace

import pytest

from breeding.planning import Temperament
from breeding.risk import Bearing, RiskFacts, factors
from collection.stages import Group

KNOWN = RiskFacts(
    Group.TARANTULA, Temperament.CALM, days_fed=2, days_molted=200, her_mm=150, his_mm=140, his_days=60,
    way_out=True, retreat=True, peaceful=1,
)  # fmt: skip


def factor(name, **values):
    return next(one for one in factors(replace(KNOWN, **values)) if one.name == name)


def test_a_well_prepared_pair_of_a_calm_genus_has_nothing_that_raises_the_risk():
    assert {one.bearing for one in factors(KNOWN)} == {Bearing.EASES}


@pytest.mark.parametrize(
    ("name", "values", "word"),
    [
        ("her hunger", {"days_fed": 8}, "hungry"),
        ("her molt", {"days_molted": 30}, "fresh"),
        ("sizes", {"his_mm": 100}, "he is small"),
        ("his age", {"his_days": 184}, "ageing"),
        ("temperament", {"temperament": Temperament.FIERCE}, "fierce"),
        ("a way out for him", {"way_out": False}, "none"),
        ("her retreat", {"retreat": False}, "none"),
        ("her past", {"attacks": 1}, "has attacked"),
        ("her past", {"lost": 1}, "has attacked"),
    ],
)
def test_each_factor_can_raise_it_and_then_stands_before_what_eases(name, values, word):
    found = factor(name, **values)
    assert (found.word, found.bearing) == (word, Bearing.RAISES)
    assert factors(replace(KNOWN, **values))[0].name == name


def test_what_nobody_knows_is_open():
    bare = factors(RiskFacts(Group.TARANTULA, Temperament.MIXED))
    assert {one.bearing for one in bare} == {Bearing.OPEN}
    assert len(bare) == 7


def test_there_is_no_percentage():
    raised = replace(KNOWN, days_fed=30, attacks=2, lost=1, temperament=Temperament.FIERCE)
    said = " ".join(one.sentence for facts in (KNOWN, raised) for one in factors(facts))
    assert "%" not in said
    assert "She attacked in 3 of 4 meetings on record, 1 male lost." in said


def test_animals_that_eat_none_alive_have_no_risk_and_a_mantis_no_retreat():
    assert factors(replace(KNOWN, group=Group.STICK_INSECT)) == []
    names = {one.name for one in factors(replace(KNOWN, group=Group.MANTIS))}
    assert "her retreat" not in names
    assert "his age" not in names


@pytest.mark.parametrize("values", [{"days_fed": -1}, {"her_mm": 0.0}, {"lost": -1}])
def test_what_cannot_be_is_refused(values):
    with pytest.raises(ValueError, match=r"cannot lie ahead|above zero|counted from zero"):
        replace(KNOWN, **values)
