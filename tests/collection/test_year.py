"""A year in review: each event counts in its year, once, under its name."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from collection import year_sources, yearbook
from collection.models import House
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
FIRST, LAST = date(2026, 1, 1), date(2026, 12, 4)
BEFORE = date(2025, 6, 1)


def section(title):
    return next((found for found in yearbook.review(FIRST, LAST) if found.title == title), None)


def came(day, **values):
    return make.SpecimenFactory(acquired_earliest=day, acquired_latest=day, **values)


def test_who_came_and_went_is_counted_in_its_year():
    for how in ("bred", "bred", "bought"):
        came(date(2026, 3, 1), how=how)
    came(BEFORE)
    make.died(came(BEFORE), date(2026, 2, 1))
    make.left(came(BEFORE), date(2026, 5, 1))
    make.died(came(date(2024, 1, 1)), BEFORE)
    came(date(2026, 3, 1), kind="culture")
    found = section("Who came and went")
    assert found.rows == (("bought", "1"), ("bred here", "2"), ("passed on", "−1"), ("died", "−1"))
    assert found.says == "3 animals when the year began, 4 on 4 December."
    assert yearbook.review(date(2025, 1, 1), date(2025, 12, 31))[0].says.endswith("3 at the end of it.")


def test_the_numbers_add_up():
    for n in range(5):
        came(BEFORE if n % 2 else date(2026, 4, 1))
    make.died(came(date(2026, 4, 1)), date(2026, 8, 1))
    changes = sum(int(number.replace("−", "-")) for _, number in section("Who came and went").rows)
    assert year_sources.here_on(date(2025, 12, 31)) + changes == year_sources.here_on(LAST)


def test_deaths_stand_by_cause_and_the_unknown_ones_are_named():
    for cause in ("molt", "molt", "unknown"):
        make.died(came(BEFORE), date(2026, 2, 1), cause=cause)
    found = section("Deaths")
    assert found.rows == (("molt failure", "2"), ("unknown", "1"))
    assert found.says == "3 animals died; of 1 nobody knows why."


def test_growth_is_the_middle_step_between_neighbouring_skins():
    taxon = make.TaxonFactory()
    one, two = came(BEFORE, taxon=taxon), came(BEFORE, taxon=taxon)
    for animal, sizes in ((one, (50, 60, 78)), (two, (20, None, 30))):
        for month, size in zip((3, 6, 9), sizes, strict=True):
            make.molted(animal, date(2026, month, 1), leg_span_mm=size)
    found = section("Molts and growth")
    assert found.rows == ((taxon.name, "6", "2", "+25 % (2 steps)"),)  # 1.2 and 1.3; over a gap is no step


def test_pairings_end_in_a_sac_a_molt_or_wait():
    taxon = make.TaxonFactory()
    dams = [make.female(taxon=taxon) for _ in range(3)]
    for dam in dams:
        make.paired(dam, date(2026, 5, 1))
        make.paired(dam, date(2026, 5, 9))
    make.laid(dams[0], date(2026, 8, 1))
    make.molted(dams[1], date(2026, 8, 1))
    assert section("Pairings").rows == ((taxon.name, "3", "1", "1", "1"),)
    assert section("Pairings").says == "Of 2 waits that are over, 1 ended in a brood."


def test_sacs_and_the_young_last_counted():
    sac = make.laid(make.female(), date(2026, 3, 1))
    sac.head_counts.create(stage="egg", alive=300, earliest=date(2026, 3, 20))
    for day, alive in ((1, 200), (9, 180)):
        sac.head_counts.create(stage="spiderling", alive=alive, earliest=date(2026, 5, day))
    assert section("Broods and young").rows[0][1:] == ("1", "0", "0", "180")
    assert section("Broods and young").says == "1 laid, 180 young counted; 1 still runs."


def test_money_stands_in_the_currency_of_the_house():
    came(date(2026, 3, 1), price=Decimal("40.00"))
    came(date(2026, 4, 1), price=Decimal("1205.50"))
    came(BEFORE, price=Decimal(999))
    make.left(came(BEFORE), date(2026, 6, 1), price=Decimal(60))
    assert section("Money").rows[0] == ("animals bought", "2", "1\u202f245.50")
    House.objects.create(pk=1, currency="EUR")
    assert "60 EUR came in" in section("Money").says


def test_the_currency_is_set_by_the_keeper_once_for_the_house(keeper_client):
    keeper_client.post(reverse("collection:currency"), {"currency": "EUR", "key": "a"})
    keeper_client.post(reverse("collection:currency"), {"currency": "Kč", "key": "b"})
    assert House.money() == "Kč"
    refused = keeper_client.post(reverse("collection:currency"), {"currency": ""})
    assert refused.status_code == 422


def test_a_price_belongs_to_what_is_passed_on(keeper_client):
    animal = came(BEFORE)
    address = reverse("collection:departure-new", args=[animal.pk])
    lent = keeper_client.post(address, {"kind": "loan_out", "on": "2026-12-01", "price": "5"})
    assert lent.status_code == 422
    assert "Only an animal passed on brings a price" in lent.content.decode()
    keeper_client.post(address, {"kind": "passed_on", "on": "2026-12-01", "price": "25.50"})
    assert animal.departures.get().price == Decimal("25.50")


@pytest.mark.parametrize(("year", "status"), [(2026, 200), (2025, 200), (2027, 404), (1066, 404)])
def test_a_year_that_has_been_opens_and_no_other(keeper_client, year, status):
    assert keeper_client.get(reverse("collection:year", args=[year])).status_code == status


def test_an_empty_year_says_what_will_stand_there(keeper_client):
    page = keeper_client.get(reverse("collection:year")).content.decode()
    assert "Nothing on record of 2026" in page
    assert "Say what prices are in" in page


def test_groups_are_not_taken_from_the_number_of_single_animals():
    came(BEFORE)
    make.died(came(BEFORE, kind="group"), date(2026, 2, 1))
    make.left(came(BEFORE, kind="group"), date(2026, 5, 1))
    assert section("Who came and went") is None
