"""What can be wrong with which group, what is looked at, what signs point to, and when to look again."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection import health
from collection.health import KINDS, Check, HealthKind, Sign
from collection.models import DeathCause
from collection.stages import Group

DAY = date(2026, 12, 1)
OTHERS = [group for group in Group if group not in health.SPIDERS]


@pytest.mark.parametrize("group", OTHERS)
def test_what_only_spiders_have_is_offered_to_no_other_group(group):
    kinds, signs, checks = health.kinds_for(group), dict(health.signs_for(group)), health.checks_for(group)
    assert {HealthKind.NEMATODES, HealthKind.FLIES} & set(kinds) == set()
    assert {Sign.HUDDLED, Sign.MOUTH} & signs.keys() == set()
    assert Check.MOUTH not in checks


def test_animals_that_graze_are_not_hurt_by_prey_and_cultures_do_not_age():
    grazers = [Group.ISOPOD, Group.MILLIPEDE, Group.ROACH, Group.BEETLE, Group.STICK_INSECT]
    assert all(HealthKind.PREY not in health.kinds_for(group) for group in grazers)
    assert HealthKind.AGE not in health.kinds_for(Group.ISOPOD)
    assert HealthKind.PREY in health.kinds_for(Group.SCORPION)


def test_signs_are_said_in_the_words_of_the_group():
    assert health.sign_label(Sign.SHRUNKEN, Group.TARANTULA) == "shrunken abdomen"
    assert health.sign_label(Sign.SHRUNKEN, Group.CENTIPEDE) == "shrunken body"
    assert "molting" in health.leave_alone(Group.TARANTULA)
    assert "Hanging" in health.leave_alone(Group.MANTIS)
    assert health.leave_alone(Group.ISOPOD) == ""


@pytest.mark.parametrize("kind", HealthKind)
@pytest.mark.parametrize("group", [Group.TARANTULA, Group.SCORPION, Group.ISOPOD])
def test_every_caution_names_its_source_and_all_end_with_the_vet(kind, group):
    cautions = health.cautions_for(kind, group)
    assert all(caution.source and caution.text.endswith(".") for caution in cautions)
    assert "vet" in cautions[-1].text
    assert "not a treatment" in cautions[-1].text or "Nothing here is a treatment" in cautions[-1].text


def test_no_caution_names_a_dose_or_a_drug():
    words = " ".join(caution.text.lower() for facts in KINDS.values() for caution in facts.cautions)
    assert not any(word in words for word in (" mg", " ml", "%", "dose", "drug", "antibiotic", "alcohol"))


def test_what_spreads_is_what_the_trade_isolates():
    assert set(health.CONTAGIOUS) == {"mites", "nematodes", "flies", "mould", "parasite", "infection"}
    assert all(health.APART in KINDS[HealthKind(kind)].cautions for kind in health.CONTAGIOUS)


@pytest.mark.parametrize(
    ("signs", "group", "kind"),
    [
        ([], Group.TARANTULA, HealthKind.UNCLEAR),
        (["shrunken"], Group.TARANTULA, HealthKind.DRY),
        (["dish", "slow"], Group.SCORPION, HealthKind.DRY),
        (["dish"], Group.SCORPION, HealthKind.UNCLEAR),
        (["mouth", "shrunken"], Group.TARANTULA, HealthKind.NEMATODES),  # what spreads goes first
        (["larvae"], Group.TARANTULA, HealthKind.FLIES),
        (["larvae"], Group.ISOPOD, HealthKind.PARASITE),
        (["stuck"], Group.MANTIS, HealthKind.MOLT),
    ],
)
def test_signs_point_to_a_kind_that_the_group_can_have(signs, group, kind):
    assert health.suggested(signs, group) is kind


@given(st.sets(st.sampled_from([sign.value for sign in Sign])), st.sampled_from(list(Group)))
def test_whatever_is_seen_the_kind_fits_the_group(signs, group):
    assert health.suggested(signs, group) in health.kinds_for(group)


def test_the_keepers_day_goes_before_the_keepers_rhythm_and_that_before_the_usual():
    assert health.again_on(DAY, None, HealthKind.MITES, None) == DAY + timedelta(days=3)
    assert health.again_on(DAY, None, HealthKind.MITES, 10) == DAY + timedelta(days=10)
    assert health.again_on(DAY, DAY + timedelta(days=1), HealthKind.MITES, 10) == DAY + timedelta(days=1)


def test_a_next_look_before_the_look_or_a_rhythm_of_nothing_is_refused():
    with pytest.raises(ValueError, match="before it was looked at"):
        health.again_on(DAY, DAY - timedelta(days=1), HealthKind.MITES, None)
    with pytest.raises(ValueError, match="at least one day"):
        health.again_on(DAY, None, HealthKind.MITES, 0)


def test_the_causes_of_death_are_those_of_the_trade_and_unknown_is_the_usual_one():
    assert len(DeathCause) == 15
    assert DeathCause.UNKNOWN == "unknown"
