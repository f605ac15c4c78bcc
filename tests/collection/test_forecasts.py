"""What is shown is kept with its day, settled by events alone, and never improved after the fact."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breeding.services import remove_sac
from collection import dues, forecasting, forecasts, scorecard, services
from collection.forecasting import ForecastKind, Promise, Running, Waits
from collection.intervals import IntervalPrior, StudentForecast, update
from collection.models import Forecast, ForecastWidth, Molt, Standing
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(make.NOW, tick=False)]
TODAY = make.TODAY
LAST = TODAY - timedelta(days=20)


@pytest.fixture
def spider():
    """A juvenile that molted three weeks ago and had its molt entered today."""
    animal = make.SpecimenFactory()
    make.molted(animal, LAST, leg_span_mm=50)
    return animal


def only(kind="molt"):
    return Forecast.objects.get(kind=kind)


def on(day, traveller):
    traveller.move_to(f"{day}T09:00:00+00:00")


def test_a_molt_entered_makes_a_forecast_of_the_next_as_of_today(spider):
    kept = only()
    assert (kept.specimen, kept.origin_on, kept.made_on, kept.outcome) == (spider, LAST, TODAY, "")
    assert kept.quantiles == sorted(kept.quantiles)
    assert kept.quantiles[0] > 20  # nothing had come in twenty days
    low, high = (round(kept.quantiles[n]) for n in (3, 21 - 2))
    standing = Standing.objects.get(specimen=spider)
    assert abs((standing.molt_begins - LAST).days - low) < 8
    assert abs((standing.molt_ends - LAST).days - high) < 8


def test_the_molt_settles_it_and_begins_the_next(spider, time_machine):
    on(TODAY + timedelta(days=70), time_machine)
    make.molted(spider, TODAY + timedelta(days=68), leg_span_mm=60)
    first, second = Forecast.objects.order_by("origin_on")
    assert (first.outcome, first.settled_on, first.made_on) == ("came", TODAY + timedelta(days=68), TODAY)
    assert first.off_days == pytest.approx(88 - first.quantiles[11], abs=0.01)
    assert -1.5 < first.place < 1.5
    assert (second.outcome, second.made_on) == ("", TODAY + timedelta(days=70))


def test_taking_the_molt_back_opens_the_forecast_again(spider, time_machine):
    before = Forecast.objects.values().get()
    on(TODAY + timedelta(days=70), time_machine)
    services.remove_molt(make.molted(spider, TODAY + timedelta(days=68)))
    assert Forecast.objects.values().get() == before


def test_a_forecast_of_what_had_happened_already_is_none(spider):
    make.molted(spider, TODAY - timedelta(days=2), leg_span_mm=60)
    kept = only()
    assert kept.origin_on == TODAY - timedelta(days=2)


def test_history_typed_in_later_makes_no_forecasts_of_the_past():
    animal = make.SpecimenFactory()
    for days in (900, 700, 500, 300, 15):
        make.molted(animal, TODAY - timedelta(days=days), leg_span_mm=50)
    assert only().origin_on == TODAY - timedelta(days=15)


def test_who_is_past_the_window_already_is_promised_nothing():
    make.molted(make.SpecimenFactory(), TODAY - timedelta(days=2000), leg_span_mm=50)
    assert not Forecast.objects.exists()


def test_the_first_one_counts_and_a_young_one_follows_corrections(spider, time_machine):
    first = only().quantiles
    on(TODAY + timedelta(days=3), time_machine)
    molt = Molt.objects.get()
    molt.leg_span_mm = 150  # it was grown
    services.record_molt(molt)
    young = only()
    assert young.quantiles[11] > 2 * first[11]
    on(TODAY + timedelta(days=30), time_machine)
    molt.leg_span_mm = 50
    services.record_molt(molt)
    assert only().quantiles == young.quantiles


@pytest.mark.parametrize("leave", [make.died, make.left])
def test_who_dies_or_leaves_cuts_the_wait_short(spider, leave, time_machine):
    on(TODAY + timedelta(days=12), time_machine)
    leave(spider, TODAY + timedelta(days=10))
    kept = only()
    assert (kept.outcome, kept.settled_on, kept.off_days) == ("ended", TODAY + timedelta(days=10), None)


def test_a_meal_asks_nothing_of_forecasts(spider):
    with CaptureQueriesContext(connection) as queries:
        make.fed(spider, TODAY)
    assert not [query for query in queries if "forecast" in query["sql"]]


def test_a_sac_settles_the_wait_since_the_pairing_and_a_molt_is_something_else(time_machine):
    dam, other = make.female(), make.female()
    for female in (dam, other):
        make.paired(female, TODAY - timedelta(days=5), insertions_left=1)
    assert {row.chance for row in Forecast.objects.filter(kind="sac")} == {0.7778}
    on(TODAY + timedelta(days=90), time_machine)
    sac = make.laid(dam, TODAY + timedelta(days=80))
    make.molted(other, TODAY + timedelta(days=60))
    settled = dict(Forecast.objects.filter(kind="sac").values_list("specimen", "outcome"))
    assert settled == {dam.pk: "came", other.pk: "instead"}
    remove_sac(sac)
    assert Forecast.objects.get(kind="sac", specimen=dam).outcome == ""


def test_another_pairing_replaces_the_wait(time_machine):
    dam = make.female()
    make.paired(dam, TODAY - timedelta(days=5), insertions_left=1)
    on(TODAY + timedelta(days=20), time_machine)
    make.paired(dam, TODAY + timedelta(days=18), insertions_left=2)
    assert only("sac").origin_on == TODAY + timedelta(days=18)


def test_running_it_again_changes_nothing(spider, time_machine):
    on(TODAY + timedelta(days=70), time_machine)
    make.molted(spider, TODAY + timedelta(days=60), leg_span_mm=60)
    before = list(Forecast.objects.order_by("pk").values())
    dues.refresh_all()
    assert list(Forecast.objects.order_by("pk").values()) == before


def narrow(ids):
    """A kind that claims to know to the day, and is wrong by a fifth each time."""
    return Waits({(pk, 1): Running(TODAY, lambda: Promise(StudentForecast(4.6, 0.05, 30))) for pk in ids})


def settled(kind, specimen, n, place):
    """A forecast long over, with its event where `place` says."""
    Forecast.objects.create(
        specimen=specimen, kind=kind, origin=n, origin_on=TODAY - timedelta(days=400), outcome="came",
        made_on=TODAY - timedelta(days=399), closes_on=TODAY - timedelta(days=200), quantiles=[],
        settled_on=TODAY - timedelta(days=300), place=place, off_days=3, crps_days=2,
    )  # fmt: skip


def test_windows_that_hold_too_little_widen_and_those_that_hold_do_not(spider):
    for n in range(100, 130):
        settled("molt", spider, n, 2.4 if n % 2 else 0.3)
    forecasts.review(TODAY)
    width = ForecastWidth.objects.get()
    assert (width.kind, width.held, width.forecasts) == ("molt", 15, 30)
    assert width.factor == pytest.approx(1.9)
    Forecast.objects.filter(place__gt=2).update(place=1.0)
    forecasts.review(TODAY)
    assert not ForecastWidth.objects.exists()


def test_a_widened_kind_tells_wider_windows_about_the_same_middle(spider):
    before = Standing.objects.get(specimen=spider)
    ForecastWidth.objects.create(kind="molt", factor=1.5, held=10, forecasts=30)
    dues.refresh([spider.pk])
    after = Standing.objects.get(specimen=spider)
    assert after.molt_likely == before.molt_likely
    assert after.molt_begins < before.molt_begins < before.molt_ends < after.molt_ends


def test_a_kind_registered_for_a_test_is_kept_too(spider):
    with forecasting.registered(ForecastKind("guess", "Guess", "event", narrow)):
        dues.refresh([spider.pk])
    kept = only("guess")
    assert kept.quantiles[11] == pytest.approx(99.48, abs=0.02)
    assert kept.closes_on > TODAY


def test_only_what_is_over_is_scored(spider):
    settled("molt", spider, 100, 0.2)
    assert forecasts.outcomes_of("molt", TODAY) == [scorecard.Outcome(0.2, came=True)]
    assert forecasts.outcomes_of("molt", TODAY, spider.taxon_id)
    assert forecasts.outcomes_of("molt", TODAY - timedelta(days=250)) == []


class Ledger(TestCase):
    """Whatever order molts, ends and corrections come in: settling is a function of the events alone."""

    @given(st.lists(st.tuples(st.integers(0, 400), st.sampled_from(["molt", "undo", "die"])), max_size=7))
    @settings(max_examples=15)
    def test_settling_twice_is_settling_once(self, acts):
        animal = make.SpecimenFactory()
        make.molted(animal, date(2026, 11, 1), leg_span_mm=60)
        for n, (day, act) in enumerate(acts):
            today = TODAY + timedelta(days=60 * n)
            if act == "molt" and not Molt.objects.filter(earliest=TODAY + timedelta(days=day)).exists():
                Molt.objects.create(specimen=animal, earliest=TODAY + timedelta(days=day))
            elif act == "undo" and Molt.objects.count() > 1:
                Molt.objects.order_by("-pk").first().delete()
            forecasts.refresh([animal.pk], today)
            once = list(Forecast.objects.order_by("pk").values())
            forecasts.refresh([animal.pk], today)
            assert list(Forecast.objects.order_by("pk").values()) == once
            for row in Forecast.objects.exclude(outcome=""):
                assert row.settled_on > row.made_on


def test_quantiles_given_no_event_so_far_are_those_of_the_forecast_cut_off():
    from collection.intervals import quantiles

    forecast = update(IntervalPrior(150, 2, 0.25, 3), [142, 171, 160, 188])
    for elapsed in (0.0, 100.0, 240.0):
        for level, day in zip((0.05, 0.5, 0.95), quantiles(forecast, (0.05, 0.5, 0.95), elapsed), strict=True):
            chance = forecast.chance_within(day - elapsed, elapsed)
            assert chance == pytest.approx(level, abs=1e-3)
