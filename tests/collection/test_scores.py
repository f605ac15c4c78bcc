"""The page that says how often forecasts were right: what counts, what does not yet, and what follows from it."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection import attention, dues, forecasts, scores, scoring
from collection.models import Due, Forecast, ForecastWidth
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
ORIGIN = TODAY - timedelta(days=400)
QUANTILES = [float(100 + n) for n in range(len(scoring.LEVELS))]


def told(specimen, n, outcome="came", days=300, kind="molt", **values):
    """A forecast of 100 to 122 days that is over; its event, if any, came so many days after its origin."""
    settled = ORIGIN + timedelta(days=days) if outcome else None
    row = Forecast(
        specimen=specimen, kind=kind, origin=n, origin_on=ORIGIN, made_on=ORIGIN, outcome=outcome, settled_on=settled,
        closes_on=ORIGIN + timedelta(days=122), quantiles=QUANTILES, **values,
    )  # fmt: skip
    if settled:
        forecasts._score(row, float(days))
    row.save()
    return row


def molts(today=TODAY):
    return next(score for score in scores.of_kinds(today) if score.kind.name == "molt")


@pytest.fixture
def animal():
    return make.SpecimenFactory()


def test_what_came_is_scored_in_days_as_by_hand(animal):
    told(animal, 1, days=115)
    found = molts()
    losses = found.losses
    assert (losses.off, losses.middle) == (4, 2)  # the middle was 111
    assert losses.early == pytest.approx(0.1 * (115 - 103))
    assert losses.late == pytest.approx(0.1 * (119 - 115))
    assert losses.crps == pytest.approx(scoring.crps_quantiles(115, scoring.LEVELS, QUANTILES), abs=0.01)
    assert [(held.hits, held.decided) for held in found.held] == [(1, 1), (1, 1), (1, 1)]


def test_each_ending_is_counted_under_its_name(animal):
    told(animal, 1, days=115)
    told(animal, 2, "ended", days=105)
    told(animal, 3, "instead", days=105)
    told(animal, 4, "")
    found = molts()
    assert (found.over, found.came, found.cut_short, found.instead, found.late) == (4, 1, 1, 1, 1)
    assert found.held[1].decided == 2


def test_what_came_early_waits_for_its_window_to_be_over(animal):
    told(animal, 1, days=101)
    early = molts(ORIGIN + timedelta(days=110))
    assert (early.over, early.running) == (0, 1)
    assert [row.inside for row in scores.latest(TODAY)] == [False]


def test_the_page_says_so_in_words(keeper_client, animal):
    for n in range(3):
        told(animal, n, days=112 + n)
    told(animal, 9, "")
    page = keeper_client.get(reverse("collection:forecast-scores")).content.decode()
    assert "Of 4 forecasts whose window is over, 3 came" in page
    assert "1 is still waited for, and count as missed" in page
    assert "fifty forecasts cannot tell 82 % from 90 %" in page


def test_whether_it_came_at_all_is_scored_too(animal):
    told(animal, 1, days=112, kind="sac", chance=0.8)
    told(animal, 2, "instead", days=90, kind="sac", chance=0.6)
    sac = next(score for score in scores.of_kinds(TODAY) if score.kind.name == "sac")
    assert (sac.chance.came, sac.chance.ended) == (1, 2)
    assert sac.chance.said == pytest.approx(0.7)
    assert sac.chance.brier == pytest.approx((0.2**2 + 0.6**2) / 2)


def test_a_house_without_forecasts_is_told_what_will_stand_here(keeper_client):
    assert "Nothing was forecast yet" in keeper_client.get(reverse("collection:forecast-scores")).content.decode()


def test_a_kind_that_holds_too_little_widens_itself_and_says_so_everywhere(keeper_client, animal):
    make.molted(animal, TODAY - timedelta(days=90), leg_span_mm=60)
    before = Due.objects.get(specimen=animal, kind="molt")
    for n in range(100, 130):
        told(animal, n, days=112 if n % 2 else 180)
    Forecast.objects.filter(origin__gte=100).update(specimen=make.SpecimenFactory())
    ForecastWidth.objects.create(kind="molt", factor=2.0, held=15, forecasts=30)
    dues.refresh([animal.pk])
    after = Due.objects.get(specimen=animal, kind="molt")
    assert after.wanted_on < before.wanted_on
    sentence = attention.due_kinds["molt"].say(dues.as_stored(after), TODAY).sentence
    assert "2 times as wide as usual, for those told before held too little" in sentence
    assert "2 times as wide as usual" in keeper_client.get(animal.get_absolute_url()).content.decode()
    page = keeper_client.get(reverse("collection:forecast-scores")).content.decode()
    assert "of 30 windows of four in five, drawn as the model has them, only 15 held" in page


def test_the_page_asks_the_same_whatever_the_number_of_forecasts(keeper_client, animal):
    counts = []
    for round_ in range(2):
        for n in range(8):
            told(make.SpecimenFactory(), 100 * round_ + n, days=112)
        with CaptureQueriesContext(connection) as queries:
            keeper_client.get(reverse("collection:forecast-scores"))
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 20
