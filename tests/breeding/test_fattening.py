"""A female is fattened before and after she is paired, as long as she takes food."""

from datetime import date, timedelta

import pytest

from breeding.models import Pairing
from collection import dues
from collection.models import Measurement
from collection.services import write
from husbandry import influences
from husbandry.rhythm_choice import InfluenceKind
from tests import factories as make

pytestmark = pytest.mark.django_db
TODAY = make.TODAY
FED = date(2026, 12, 1)


@pytest.fixture
def dam():
    """Grown, fed every 14 days."""
    animal = make.female()
    write(Measurement(specimen=animal, earliest=FED, latest=FED, leg_span_mm=150), [animal], "measured")
    make.fed(animal, FED)
    return animal


def due(dam):
    row = dam.dues.get(kind="feed")
    return row.due_on, row.facts.get("name", "")


def fattened(dam):
    found = influences.gather([dam.pk])[dam.pk]
    return [(one.begins, one.ends) for one in found if one.kind is InfluenceKind.FATTENING]


def test_after_a_pairing_she_is_fed_twice_as_often_for_two_months(dam):
    assert due(dam) == (FED + timedelta(days=14), "")
    make.paired(dam, date(2026, 11, 25))
    assert due(dam) == (FED + timedelta(days=7), "fattening")
    assert fattened(dam) == [(date(2026, 11, 25), date(2027, 1, 24))]
    assert (
        dam.dues.get(kind="feed")
        .facts["why"]
        .startswith("Fattening after the pairing of 25 November 2026; otherwise 14")
    )


def test_before_a_planned_pairing_she_is_fattened_too(dam):
    Pairing.objects.create(female=dam, planned_for=date(2026, 12, 20))
    dues.refresh([dam.pk])
    assert due(dam)[0] == FED + timedelta(days=7)


def test_a_refusal_ends_it_and_her_own_rhythm_is_left_alone(dam):
    make.paired(dam, date(2026, 11, 25))
    make.fed(dam, date(2026, 12, 3), "refused")
    assert due(dam) == (date(2026, 12, 15), "")
    make.rhythm(dam, 10)
    make.fed(dam, TODAY)
    assert due(dam) == (TODAY + timedelta(days=10), "")


def test_a_molt_or_a_sac_ends_it(dam):
    make.paired(dam, date(2026, 11, 1))
    make.molted(dam, date(2026, 11, 10))
    assert fattened(dam) == [(date(2026, 11, 1), date(2026, 11, 10))]
    other = make.female()
    make.paired(other, date(2026, 9, 1))
    make.laid(other, date(2026, 9, 20))
    assert fattened(other) == [(date(2026, 9, 1), date(2026, 9, 20))]


def test_who_was_never_paired_is_not_asked_for_much(dam, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert fattened(dam) == []
