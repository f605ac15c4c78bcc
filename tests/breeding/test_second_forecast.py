"""The wait from one sac to the next of the same mating is foretold, kept, and scored like any other."""

from datetime import date, timedelta

import pytest

from breeding.forecast_sources import seconds
from collection import dues
from collection.models import Forecast
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
LAID = make.TODAY - timedelta(days=60)


@pytest.fixture
def dam():
    taxon = make.TaxonFactory(name="Psalmopoeus irminia", sac_months_min=1, sac_months_max=4)
    return make.female(taxon=taxon)


@pytest.fixture
def first(dam):
    make.paired(dam, LAID - timedelta(days=50))
    return make.laid(dam, LAID)


def test_it_runs_from_the_sac_before(dam, first):
    waits = seconds([dam.pk])
    assert list(waits.running) == [(dam.pk, first.pk)]
    assert waits.running[dam.pk, first.pk].since == LAID
    kept = Forecast.objects.get(kind="again")
    assert (kept.origin, kept.origin_on, kept.outcome) == (first.pk, LAID, "")
    assert 0 < kept.chance < 0.5  # one in two before any record, less for the sixty days that have passed


def test_the_next_sac_settles_it_and_begins_another(dam, first, time_machine):
    time_machine.move_to("2026-12-09 12:00")
    second = make.laid(dam, make.TODAY + timedelta(days=4))
    kept = {row.origin: row for row in Forecast.objects.filter(kind="again")}
    assert (kept[first.pk].outcome, kept[first.pk].settled_on) == ("came", second.earliest)
    assert kept[first.pk].off_days is not None
    assert kept[second.pk].outcome == ""


def test_a_molt_comes_instead(dam, first, time_machine):
    time_machine.move_to("2026-12-09 12:00")
    make.molted(dam, make.TODAY + timedelta(days=3))
    assert Forecast.objects.get(kind="again").outcome == "instead"


def test_a_new_pairing_replaces_the_wait(dam, first, time_machine):
    time_machine.move_to("2026-12-09 12:00")
    make.paired(dam, make.TODAY + timedelta(days=3))
    assert set(Forecast.objects.values_list("kind", flat=True)) == {"sac"}


def test_who_does_not_lay_again_and_who_was_never_paired_has_no_such_wait():
    calm = make.female(taxon=make.TaxonFactory(name="Brachypelma smithi", sac_months_min=4, sac_months_max=10))
    make.paired(calm, LAID - timedelta(days=150))
    make.laid(calm, LAID)
    unpaired = make.female(taxon=make.TaxonFactory(name="Psalmopoeus cambridgei", sac_months_min=1, sac_months_max=4))
    make.laid(unpaired, LAID)
    assert seconds([calm.pk, unpaired.pk]) == type(seconds([]))()


def test_working_it_out_anew_changes_nothing(dam, first):
    before = list(Forecast.objects.order_by("pk").values())
    dues.refresh([dam.pk])
    assert list(Forecast.objects.order_by("pk").values()) == before
    assert isinstance(before[0]["origin_on"], date)
