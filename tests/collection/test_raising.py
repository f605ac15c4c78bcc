"""How many young to keep: the page, what the collection itself knows, and what the page refuses."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from collection.raising import brood_of, raised, sexed_of
from collection.views.raising import say_chance
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
HATCHED = date(2023, 1, 1)


def page(client, status=200, **query):
    answer = client.get(reverse("collection:raising"), query)
    assert answer.status_code == status
    return answer


def young(dam, n, **values):
    return [
        make.SpecimenFactory(
            taxon=dam.taxon,
            dam=dam,
            hatched_earliest=HATCHED,
            hatched_latest=HATCHED,
            acquired_earliest=HATCHED,
            acquired_latest=HATCHED,
            **values,
        )
        for _ in range(n)
    ]


def test_it_answers_without_a_question(keeper_client):
    """A belief of Beta(10, 10), 70 % living: 10 hold a pair with 95 %."""
    answer = page(keeper_client)
    assert answer.context["least"] == 10
    assert "That 70 % live is an assumption" in answer.content.decode()


@pytest.mark.parametrize(
    ("query", "least"),
    [
        ({"belief": "even", "survival": "100"}, 6),  # R6.3
        ({"belief": "even", "survival": "60"}, 11),
        ({"belief": "open", "survival": "100"}, 39),  # R6.5
        ({"belief": "likely", "survival": "100"}, 7),
        ({"belief": "near", "survival": "100"}, 6),
        ({"belief": "own", "seen_females": "1", "seen_males": "1", "survival": "100"}, 39),
    ],
)
def test_numbers_are_those_of_the_reference(keeper_client, query, least):
    answer = page(keeper_client, **query)
    assert answer.context["least"] == least
    figure = answer.context["figure"]
    assert figure.at is not None
    assert sum(y <= figure.level for _, _, y, _ in figure.bars) >= 1
    assert (least, say_chance(1), True) not in answer.context["rows"]


def test_a_chance_is_rounded_down_so_that_almost_enough_is_not_enough():
    assert [say_chance(chance) for chance in (0.94999, 0.95, 0.9999, 1)] == ["94.9 %", "95 %", "99.9 %", "100 %"]


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ({"confidence": "100"}, "Write a number from 1 to 99.99."),
        ({"survival": "0"}, "Write a number from 1 to 100."),
        ({"females": "-1"}, "Write a number from 1 to 50."),
        ({"belief": "own", "seen_females": "3"}, "Give both numbers"),
        ({"confidence": "nan"}, "Enter a number."),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(keeper_client, query, says):
    assert says in page(keeper_client, 422, **query).content.decode()


def test_a_number_nobody_raises_is_said(keeper_client):
    query = {"belief": "own", "seen_females": "0.1", "seen_males": "1000", "confidence": "99.99"}
    assert "anyone could raise" in page(keeper_client, **query).content.decode()


def test_a_brood_is_counted_by_verdict_and_by_the_evidence_of_each(keeper_client):
    dam = make.female()
    brood = young(dam, 3, clutch="K-1")
    young(dam, 1, clutch="K-2")
    make.looked(brood[0], "female")
    make.looked(brood[1], "male", method="mature_male")
    found = brood_of(dam, "K-1", 1.0)
    assert (found.females, found.males, found.unsexed) == (1, 1, 1)
    p, q = 0.96 / 0.97, 0.001 / 0.999
    assert found.pair == pytest.approx(1 - (1 - p) * (1 - q) / 2 - p * q / 2)
    said = page(keeper_client, dam=dam.pk, clutch="K-1").content.decode()
    assert "3 are here: 1 female, 1 male, 1 unsexed" in said


def test_own_survival_needs_enough_young(keeper_client):
    dam = make.female()
    young(dam, 11)
    assert raised(dam.taxon, 24, make.TODAY) is None
    assert "too few were raised here" in page(keeper_client, taxon=dam.taxon.pk).content.decode()


def test_own_survival_is_kaplan_meier_from_hatching(keeper_client):
    """Of sixteen, four die at 100 days: 75 % live; one that came at 200 days was never at risk before that."""
    dam = make.female()
    for dead in young(dam, 16)[:4]:
        make.died(dead, HATCHED + timedelta(days=100))
    late = HATCHED + timedelta(days=200)
    make.SpecimenFactory(
        taxon=dam.taxon, hatched_earliest=HATCHED, hatched_latest=HATCHED, acquired_earliest=late, acquired_latest=late
    )
    found = raised(dam.taxon, 24, make.TODAY)
    assert (found.share, found.young, found.died) == (pytest.approx(0.75), 17, 4)
    assert found.low < 0.75 < found.high
    assert "75 % lived to 24 months here" in page(keeper_client, taxon=dam.taxon.pk).content.decode()
    assert raised(dam.taxon, 2, make.TODAY).share == 1


def test_nobody_died_is_not_everybody_lives():
    """Clopper and Pearson's lower limit for 16 of 16: 0.05 to the power 1/16, one-sided."""
    dam = make.female()
    young(dam, 16)
    found = raised(dam.taxon, 24, make.TODAY)
    assert (found.share, found.low) == (1, pytest.approx(0.05 ** (1 / 16)))


def test_those_told_apart_are_counted():
    dam = make.SpecimenFactory()
    make.laid(dam, date(2026, 5, 1))
    make.male(taxon=dam.taxon)
    assert sexed_of(dam.taxon) == (1, 1)


def test_a_tray_is_drawn_from(keeper_client):
    """R6.4: 20 with 6 males: take 7."""
    assert page(keeper_client, total="20", known_males="6").context["draw"]["drawn"] == 7
    assert "all of one sex" in page(keeper_client, total="20", known_males="0").content.decode()
    assert page(keeper_client, total="20").context["draw"] is None


def test_the_page_of_a_sac_leads_here(keeper_client):
    sac = make.laid(make.SpecimenFactory(), date(2026, 5, 1))
    assert f"/animals/raising/?dam={sac.female_id}" in keeper_client.get(sac.get_absolute_url()).content.decode()
