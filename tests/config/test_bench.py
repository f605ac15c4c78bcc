"""The benchmark measures what it says, on a collection like a breeder's; how fast it is, no test asks."""

import json
import sqlite3
from dataclasses import asdict
from datetime import date, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from breeding.models import Pairing
from collection.models import Due, Molt, Specimen, Standing
from config.accounts import services
from config.bench import bare, fill, run, served
from config.bench.pages import Pages, Timing, spread
from husbandry.models import Feeding, Place, Stay

SIZE, FEEDINGS = 300, 6


@pytest.fixture
def filled(db):
    today = timezone.localdate()
    fill.fill(SIZE, FEEDINGS, today)
    assert fill.work_out() == SIZE
    return today


def test_every_animal_is_here_in_a_box_of_its_own_and_fed_as_often_as_asked(filled):
    assert Specimen.objects.here().count() == Stay.objects.open().count() == SIZE
    assert Feeding.objects.count() == SIZE * FEEDINGS
    assert not Feeding.objects.filter(on__gt=filled).exists()
    assert Molt.objects.filter(earliest__gt=filled - timedelta(days=15)).exists()


def test_about_an_eighth_is_due_some_are_held_and_few_are_paired(filled):
    feeds = Due.objects.of("feed").wanted(filled)
    due = feeds.filter(due_on__lte=filled).count() / SIZE
    assert 0.06 < due < 0.18
    assert 0 < feeds.exclude(due_on__lte=filled).count() / SIZE < 0.06
    assert 0 < Pairing.objects.count() / SIZE < 0.06
    assert set(Standing.objects.values_list("stage", flat=True)) >= {"young", "growing", "subadult", "adult"}


def test_places_stand_in_walking_order(filled):
    walk = list(Place.objects.in_walking_order().values_list("name", flat=True))
    assert walk[:3] == ["Room", "Rack 1", "Shelf 1"]
    assert walk.index("Rack 2") > walk.index("Rack 1")


def test_every_row_has_its_history_as_if_a_keeper_had_written_it(filled):
    for model in (Specimen, Feeding, Molt, Stay):
        assert model.history.count() == model.objects.count()
    meal = Feeding.objects.first()
    assert (meal.history.get().on, meal.history.get().history_type) == (meal.on, "+")


def test_the_same_size_gives_the_same_collection(db):
    day = date(2026, 3, 1)
    fill.fill(20, 3, day)
    first = list(Feeding.objects.order_by("pk").values_list("specimen__code", "on", "outcome"))
    Feeding.objects.all().delete()
    Stay.objects.all().delete()
    samples = fill.samples_of(20)
    again = [(one.code, on, outcome) for one in samples for on, outcome in fill.meal_days(one, 3, day)]
    assert again == first


def test_the_spread_is_the_median_and_the_slow_end():
    waits = iter([0] * 100)
    p50, p95, work = spread(lambda: next(waits), 20)
    assert 0 <= p50 <= p95
    assert work >= 0


def result(p50=10.0, feed_p95=5.0, memory=80.0, weight=1024):
    timings = [Timing("dashboard", p50, p50, 9.0, 12, 2.0), Timing("one feed logged", 3.0, feed_p95, 2.5, 20, 1.0)]
    told = served.Served(1.0, memory, weight, weight, (12.0, 15.0), (4.0, 6.0))
    return run.Result(5000, 100, 1.0, 2.0, 0.12, 40.0, True, 0.5, timings, told)


def test_the_table_says_what_was_promised_and_kept():
    text = run.table([result()])
    assert "p50 ≤ 60: kept" in text
    assert "p95 ≤ 25: kept" in text
    assert "5.0" in text  # the ratio to the bare SQL
    assert "MISSED" not in text


@pytest.mark.parametrize("slow", [{"p50": 61.0}, {"feed_p95": 26.0}, {"memory": 130.0}, {"weight": 40 * 1024}])
def test_the_table_says_what_was_missed(slow):
    assert "MISSED" in run.table([result(**slow)])


def test_a_result_survives_the_way_between_two_processes():
    assert run.table([run.from_plain(json.loads(json.dumps(asdict(result()))))]) == run.table([result()])


@pytest.mark.parametrize("sizes", ["", "many", "500,0", "-5"])
def test_nonsense_sizes_are_refused(sizes):
    with pytest.raises(CommandError, match="whole numbers above zero"):
        call_command("bench", sizes=sizes)


@pytest.mark.django_db(transaction=True)
def test_the_bare_sql_finds_the_same_animals_as_the_pages(tmp_path):
    today = timezone.localdate()
    fill.fill(120, 4, today)
    fill.work_out()
    services.create_first_keeper(*run.SIGN_IN)
    path = copy_of_the_database(tmp_path)
    pages = Pages(path, today)
    assert pages.same_facts()
    for statements, values in ((bare.DASHBOARD, {}), (bare.REGISTER, {"offset": 0}), (bare.ANIMAL_PAGE, {"id": 1})):
        assert len(pages.bare.facts(statements, **values)) == len(statements)
    before = len(pages.bare.facts(['SELECT id FROM husbandry_feeding WHERE "on" = :today'])[0])
    pages.bare.feed(1)
    assert len(pages.bare.facts(['SELECT id FROM husbandry_feeding WHERE "on" = :today'])[0]) == before + 1


def copy_of_the_database(folder):
    """The test's database lies in memory; the bare connection wants a file."""
    connection.ensure_connection()
    with sqlite3.connect(folder / "copy.sqlite3") as target:
        connection.connection.backup(target)
    return folder / "copy.sqlite3"
