"""Sacs and what is counted in them: whose they are, what they prove, and a ledger from which nothing appears."""

from contextlib import suppress
from datetime import date, timedelta
from itertools import pairwise

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breeding import clutches
from breeding import services as breeding
from breeding.models import EggSac, HeadCount
from collection.models import SexEvidence
from collection.services import Refused
from husbandry.models import Posting, Reading, Sensor
from tests import factories as make

pytestmark = pytest.mark.django_db
LAID = date(2026, 9, 1)


def days(n):
    return timedelta(days=n)


@pytest.fixture
def dam():
    return make.female()


@pytest.fixture
def sac(dam):
    return make.laid(dam, LAID)


def count(sac, day, alive, dead=0, **values):
    values = {"stage": "egg", "how": "counted"} | values
    return breeding.record_head_count(HeadCount(sac=sac, earliest=day, latest=day, alive=alive, dead=dead, **values))


def test_a_sac_belongs_to_the_pairing_since_her_last_molt(dam):
    make.paired(dam, LAID - days(400))
    make.molted(dam, LAID - days(300))
    last = make.paired(dam, LAID - days(60)).pairing
    assert make.laid(dam, LAID).pairing == last


def test_a_sac_without_a_known_pairing_is_a_sac_all_the_same(dam):
    assert make.laid(dam, LAID).pairing is None


def test_a_pairing_shed_with_the_skin_is_not_the_sacs(dam):
    make.paired(dam, LAID - days(60))
    make.molted(dam, LAID - days(30))
    assert make.laid(dam, LAID).pairing is None


def test_a_pairing_after_the_sac_is_not_its_own(dam):
    make.paired(dam, LAID + days(5))
    assert make.laid(dam, LAID).pairing is None


def test_whoever_lays_is_a_female():
    animal = make.SpecimenFactory()
    make.laid(animal, LAID, LAID + days(6))
    evidence = SexEvidence.objects.get()
    assert (evidence.method, evidence.finding, evidence.latest) == ("sac", "female", LAID + days(6))
    assert make.fresh(animal).standing.sex == "female"


def test_a_sac_laid_by_a_male_is_evidence_in_conflict_not_an_error():
    animal = make.male()
    make.laid(animal, LAID)
    assert make.fresh(animal).standing.sex_conflict
    assert animal.dues.filter(kind="evidence").exists()


def test_a_sac_entered_later_joins_no_second_evidence_when_its_state_changes(sac):
    sac.taken_on = LAID + days(30)
    breeding.record_sac(sac)
    assert SexEvidence.objects.filter(method="sac").count() == 1


def test_counts_go_down_and_say_why(sac):
    count(sac, LAID + days(20), 90)
    count(sac, LAID + days(40), 70, 20, cause="dried")
    assert list(sac.head_counts.values_list("alive", "dead")) == [(90, 0), (70, 20)]


def test_animals_do_not_appear_from_nowhere(sac):
    count(sac, LAID + days(20), 90)
    with pytest.raises(Refused, match=r"On 2026-09-21 90 were counted alive.*: 5 too many") as refusal:
        count(sac, LAID + days(40), 85, 10)
    assert refusal.value.field == "alive"
    assert HeadCount.objects.count() == 1


def test_a_count_entered_afterwards_is_held_against_the_one_that_follows(sac):
    count(sac, LAID + days(40), 90)
    with pytest.raises(Refused, match=r"On 2026-09-21 80 were counted alive.*on 2026-10-11 90 alive.*: 10 too many"):
        count(sac, LAID + days(20), 80)


def test_stages_are_counted_each_for_itself(sac):
    count(sac, LAID + days(20), 90)
    count(sac, LAID + days(30), 120, stage="ewl")
    assert HeadCount.objects.count() == 2


@pytest.mark.parametrize("how", [("estimated", "counted"), ("counted", "estimated")])
def test_an_estimate_binds_nobody(sac, how):
    count(sac, LAID + days(20), 90, how=how[0])
    count(sac, LAID + days(30), 140, how=how[1])
    assert HeadCount.objects.count() == 2


def test_a_count_can_be_corrected(sac):
    found = count(sac, LAID + days(20), 90)
    found.alive = 95
    breeding.record_head_count(found)
    assert HeadCount.objects.get().alive == 95


def test_sacs_without_an_outcome_are_running(dam, sac):
    make.laid(dam, LAID + days(90), outcome="eaten", ended_on=LAID + days(95))
    assert list(EggSac.objects.running()) == [sac]


class TestLedger(TestCase):
    """Counts of one sac, entered in any order."""

    @settings(max_examples=25)
    @given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 60), st.integers(0, 9)), max_size=8))
    def test_no_animal_appears_in_whatever_order_counts_are_entered(self, entries):
        sac = make.laid(make.SpecimenFactory(), LAID)
        for day, alive, dead in entries:
            with suppress(Refused):
                count(sac, LAID + days(day), alive, dead)
        kept = list(sac.head_counts.order_by("earliest", "id"))
        assert all(later.alive + later.dead <= earlier.alive for earlier, later in pairwise(kept))


@pytest.mark.time_machine(make.NOW, tick=False)
def test_readings_count_as_long_as_the_sensor_hung_with_the_sac():
    shelf, other = make.place("Incubator", "shelf"), make.place("Shelf", "shelf")
    sensor = Sensor.objects.create(name="Sensor a", key="a")
    sac = make.laid(make.female(), make.TODAY - timedelta(days=30), place=shelf)
    Posting.objects.create(sensor=sensor, place=shelf, since=timezone.now() - timedelta(days=40))
    Posting.objects.create(sensor=sensor, place=other, since=timezone.now() - timedelta(days=10))
    for ago in (20, 15, 5):
        at = int((timezone.now() - timedelta(days=ago)).timestamp())
        Reading.objects.create(sensor=sensor, at=at, celsius=2600)
    assert sorted(clutches.warmth_of(sac).days) == [make.TODAY - timedelta(days=ago) for ago in (20, 15)]
    sac.outcome, sac.ended_on = "hatched", make.TODAY - timedelta(days=18)
    assert list(clutches.warmth_of(sac).days) == [make.TODAY - timedelta(days=20)]


def test_a_corrected_day_finds_the_pairing_anew(dam):
    first = make.paired(dam, LAID - days(60)).pairing
    make.molted(dam, LAID - days(30))
    sac = make.laid(dam, LAID)
    assert sac.pairing is None
    sac.earliest = sac.latest = LAID - days(40)
    assert breeding.record_sac(sac).pairing == first


def test_a_pairing_chosen_by_hand_stays_when_the_day_is_corrected(dam):
    chosen = make.paired(dam, LAID - days(60)).pairing
    make.molted(dam, LAID - days(30))
    sac = make.laid(dam, LAID)
    sac.pairing = chosen
    breeding.record_sac(sac)
    sac.earliest = sac.latest = LAID - days(1)
    assert breeding.record_sac(sac).pairing == chosen
