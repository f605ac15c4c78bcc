"""What the pages say of growth, instars, missing molts and a molt to come."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection.models import Molt, MoltSign
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
START = date(2025, 6, 1)


def raised(animal, sizes, first=3, gap=60, start=START, **values):
    """Molts with carapaces, one instar after the other."""
    for n, size in enumerate(sizes):
        make.molted(animal, start + timedelta(days=gap * n), instar=first + n, carapace_mm=size, **values)
    return make.fresh(animal)


def page(client, animal):
    return " ".join(client.get(reverse("collection:specimen-growth", args=[animal.pk])).content.decode().split())


def test_its_own_ratio_stands_with_its_limits_and_the_size_to_come(keeper_client):
    said = page(keeper_client, raised(make.SpecimenFactory(), [2.0, 2.7, 3.3, 4.5, 5.7]))
    assert "Its own sizes grow ×1.30 a molt, with 95 % between 1.26 and 1.33" in said
    assert "a carapace length of about <b>7.4 mm</b>" in said


def test_too_few_sizes_are_said_to_be_too_few(keeper_client):
    assert "growth takes sizes after two different molts" in page(keeper_client, make.SpecimenFactory())
    one = page(keeper_client, raised(make.SpecimenFactory(), [2.0]))
    assert "Sizes of one instar only" in one


def test_a_missing_molt_is_said_and_nothing_is_changed(keeper_client):
    animal = raised(make.SpecimenFactory(how="bred"), [2.0, 3.5, 4.5])
    said = page(keeper_client, animal)
    assert "it grew from 2 to 3.5 mm: one molt more than is on record has probably passed unseen" in said
    assert animal.standing.instar_word == "at least 5i"
    assert [molt.instar for molt in Molt.objects.order_by("earliest")] == [3, 4, 5]


def test_an_instar_is_exact_only_when_counted_from_the_sac():
    assert raised(make.SpecimenFactory(how="bred"), [2.0, 2.6]).standing.instar_word == "4i"
    assert raised(make.SpecimenFactory(how="bought"), [2.0, 2.6]).standing.instar_word == "at least 4i"


def test_the_table_shows_the_other_conventions(keeper_client):
    assert "L3, FH3, nymph 3" in page(keeper_client, raised(make.SpecimenFactory(), [2.0, 2.6]))


def test_it_is_set_beside_its_clutch_and_its_species(keeper_client):
    taxon = make.TaxonFactory()
    for size in (1.8, 1.9, 2.1, 2.2, 2.3, 2.4):
        raised(make.SpecimenFactory(taxon=taxon, clutch="K-1"), [size, size * 1.3])
    said = page(keeper_client, raised(make.SpecimenFactory(taxon=taxon, clutch="K-1"), [2.0, 2.6]))
    assert "5th largest of 7 clutch mates at 4i." in said
    assert "Larger than 33 % of the 6 others of its species at 4i." in said
    assert "by 6 animals of its species here" in said


HATCHED = {"hatched_earliest": date(2025, 5, 1), "hatched_latest": date(2025, 5, 1)}


def test_it_is_set_beside_others_of_the_same_age(keeper_client):
    taxon = make.TaxonFactory()
    for size, gap in ((1.8, 60), (1.9, 60), (2.1, 60), (2.2, 60), (2.3, 60), (2.4, 400)):
        raised(make.SpecimenFactory(taxon=taxon, clutch="K-1", **HATCHED), [size, size * 1.3], gap=gap)
    said = page(keeper_client, raised(make.SpecimenFactory(taxon=taxon, clutch="K-1", **HATCHED), [2.0, 2.6]))
    assert "5th largest of 7 clutch mates at 4i." in said
    assert (
        "4th largest of 7 clutch mates at 6 months of age." in said
    )  # the slow one is larger at 4i, but not there yet
    assert "Larger than 50 % of the 6 others of its species at 6 months of age." in said


def test_without_a_hatching_day_nothing_is_compared_by_age(keeper_client):
    said = page(keeper_client, raised(make.SpecimenFactory(), [2.0, 2.6]))
    assert "Its hatching day is not known to a month, so it is not compared with others of its age." in said


def test_too_few_to_compare_with_is_said(keeper_client):
    said = page(keeper_client, raised(make.SpecimenFactory(), [2.0, 2.6]))
    assert "No others of its species measured at 4i: too few to compare with." in said


def test_a_males_last_molt_is_left_out_and_said(keeper_client):
    animal = raised(make.SpecimenFactory(), [2.0, 2.6, 3.4])
    make.molted(animal, date(2026, 10, 1), instar=6, carapace_mm=3.5, matured=True)
    said = page(keeper_client, animal)
    assert "the molt to maturity changes a male" in said
    assert "(3 sizes, one measure)" in said


def test_a_mantis_page_knows_nothing_of_tarantulas(keeper_client):
    taxon = make.TaxonFactory(group="mantis", adult_size_min_mm=70, adult_size_max_mm=80, size_measure="body")
    animal = make.SpecimenFactory(taxon=taxon)
    make.molted(animal, date(2026, 11, 1), instar=3, numbering="L", body_mm=14.2, carapace_mm=4.1)
    said = page(keeper_client, animal)
    form = keeper_client.get(reverse("collection:molt-new", args=[animal.pk])).content.decode()
    assert "pronotum length" in said
    assert not [word for word in ("leg span", "carapace", "FH", "nymph ", "spiderling") if word in said]
    assert not [word for word in ("Leg span", "Carapace", "FH number", "matured") if word in form]
    assert make.fresh(animal).standing.size_mm == 14.2


def test_refusals_and_signs_make_a_premolt_likely_on_the_animals_page(keeper_client):
    animal = make.SpecimenFactory()
    make.molted(animal, make.TODAY - timedelta(days=95), leg_span_mm=50, instar=6)
    for days in (20, 12, 4):
        make.fed(animal, make.TODAY - timedelta(days=days), "refused")
    make.services.write(MoltSign(specimen=animal, sign="bald_dark", earliest=make.TODAY), [animal], "sign")
    said = keeper_client.get(animal.get_absolute_url()).content.decode()
    assert "Premolt very likely" in said
    assert "95 days since the last molt, refused 3 times, bald patch darkened" in said


def test_signs_of_an_earlier_molt_no_longer_count(keeper_client):
    animal = make.SpecimenFactory()
    sign = MoltSign(specimen=animal, sign="bald_dark", earliest=make.TODAY - timedelta(days=12))
    make.services.write(sign, [animal], "sign")
    make.molted(animal, make.TODAY - timedelta(days=10), leg_span_mm=50, instar=6)
    assert "Premolt unlikely" in page(keeper_client, animal)


def test_a_shed_skin_tells_the_size_of_the_instar_before():
    animal = make.SpecimenFactory()
    make.molted(animal, date(2026, 9, 1), leg_span_mm=50, instar=6)
    make.molted(animal, date(2026, 11, 1), leg_span_mm=50, instar=7, on_skin=True)
    assert make.fresh(animal).standing.size_mm == 50


def test_a_growing_spiderling_waits_longer_the_larger_it_is():
    small, large = (make.SpecimenFactory() for _ in range(2))
    make.molted(small, date(2026, 11, 20), leg_span_mm=8, instar=3)
    make.molted(large, date(2026, 11, 20), leg_span_mm=35, instar=4)
    assert make.fresh(small).standing.molt_likely < make.fresh(large).standing.molt_likely


def test_of_a_culture_no_molt_is_asked(keeper_client):
    said = page(keeper_client, make.SpecimenFactory(taxon__group="isopod", kind="culture"))
    assert "Of a culture no single molt is logged" in said
    assert "Log a molt" not in said
