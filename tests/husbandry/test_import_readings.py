"""The file of a logger comes in by its headings, its clock is asked once, and its overlap is passed over."""

from datetime import UTC, date, datetime

import pytest

from collection.importing import batches
from collection.importing.batches import NotReady
from collection.models import ImportBatch
from husbandry.models import Reading, ReadingBatch, SensorState
from tests.husbandry.sensors import NOW, sensor

TODAY = date(2026, 12, 4)
pytestmark = [pytest.mark.django_db, pytest.mark.time_machine("2026-12-04T09:00:00+00:00", tick=False)]
HEADINGS = "Time,Temperature(°C),Relative Humidity(%)"
ROWS = ("2026-12-01 10:00,24.5,61.2", "2026-12-01 10:10,24.6,61.0")


def received(*lines: str, **answers: str) -> ImportBatch:
    batch = batches.receive("\n".join(lines).encode(), "logger.csv", "readings", None, TODAY)
    if answers:
        named = {name.replace("_", ":"): answer for name, answer in answers.items()}
        batches.settle(batch, batches.table_of(batch), batch.columns, {**batch.answers, **named})
    return batch


def imported(*lines: str, **answers: str) -> list[tuple[str, str]]:
    batch = received(*lines, **answers)
    batches.preview(batch, TODAY)
    batches.commit(batch, batch.plan_hash, None, TODAY)
    return [(outcome, " · ".join(said)) for _, _, outcome, said in ImportBatch.objects.get(pk=batch.pk).rows]


def asked(batch: ImportBatch) -> dict[str, list[str]]:
    questions = batches.open_questions(batch, batches.table_of(batch), TODAY).questions
    return {question.key: [choice.label for choice in question.choices] for question in questions}


def instants() -> list[str]:
    return [f"{datetime.fromtimestamp(at, UTC):%H:%M}" for at in Reading.objects.values_list("at", flat=True)]


def test_a_file_that_names_neither_sensor_nor_zone_is_asked_for_both():
    sensor("rack-a")
    batch = received(HEADINGS, *ROWS)
    questions = asked(batch)
    assert questions["pick:sensor"] == ["Sensor rack-a"]
    assert len(questions["zone:at"]) == 3
    with pytest.raises(NotReady):
        batches.preview(batch, TODAY)


def test_readings_come_in_by_the_clock_that_wrote_them():
    sensor("rack-a")
    said = imported(HEADINGS, *ROWS, pick_sensor="rack-a", zone_at="house")
    assert said[0] == ("new", "2026-12-01 10:00, 24.5 °C, 61.2 %")
    assert instants() == ["09:00", "09:10"]
    assert list(Reading.objects.values_list("celsius", "humidity")) == [(2450, 6120), (2460, 6100)]
    assert SensorState.objects.get().celsius == 2460


def test_a_clock_without_summer_time_is_another_one_in_summer():
    sensor("rack-a")
    imported(HEADINGS, "2026-07-01 10:00,24.5,61", pick_sensor="rack-a", zone_at="standard")
    imported(HEADINGS, "2026-07-01 12:00,24.5,61", pick_sensor="rack-a", zone_at="house")
    assert instants() == ["09:00", "10:00"]


def test_times_that_say_their_zone_need_no_answer_and_a_column_may_name_the_sensor():
    sensor("rack-a"), sensor("rack-b")
    said = imported(
        "Sensor;Zeitstempel;Temperatur;Luftfeuchte",
        "rack-a;2026-12-01T10:00:00+01:00;24,5;61",
        "Sensor rack-b;2026-12-01T09:00:00Z;23,5;",
        "attic;2026-12-01T09:00:00Z;20;",
    )
    assert [outcome for outcome, _ in said] == ["new", "new", "refused"]
    assert "Add it under Climate first" in said[2][1]
    assert instants() == ["09:00", "09:00"]


def test_the_clock_is_asked_once_a_device_and_the_sensor_for_every_file():
    sensor("rack-a")
    imported(HEADINGS, *ROWS, pick_sensor="rack-a", zone_at="utc")
    assert list(asked(received(HEADINGS, "2026-12-01 10:20,24,60"))) == ["pick:sensor"]


def test_what_overlaps_is_passed_over_and_what_differs_stays_as_it_was():
    sensor("rack-a")
    imported(HEADINGS, *ROWS, pick_sensor="rack-a", zone_at="utc")
    more = ("2026-12-01 10:10,30.0,61.0", "2026-12-01 10:20,24.7,60.9", "2026-12-01 10:20,24.7,60.9")
    said = imported(HEADINGS, ROWS[0], *more, pick_sensor="rack-a")
    assert [outcome for outcome, _ in said] == ["same", "same", "new", "same"]
    assert Reading.objects.count() == 3
    assert sorted(Reading.objects.values_list("celsius", flat=True)) == [2450, 2460, 2470]


def test_fahrenheit_is_read_by_its_heading():
    sensor("rack-a")
    imported("Timestamp,Temperature_Fahrenheit", "2026-12-01 10:00,76.1", pick_sensor="rack-a", zone_at="utc")
    assert Reading.objects.get().celsius == 2450


IMPOSSIBLE = {
    "2026-12-01 10:00,24.5,140": "between 0 and 100 %",
    "2026-12-01 10:00,-80,50": "more than a sensor can measure",
    "1970-01-01 00:10,20,50": "never set",
    "2027-01-01 10:00,20,50": "lies in the future",
    "2026-12-01,20,50": "needs a day and a time of day",
    "2026-12-01 25:10,20,50": "no time of the clock",
    "2026-12-01 10:00,,": "needs a temperature or a humidity",
}


@pytest.mark.parametrize("row", IMPOSSIBLE)
def test_the_impossible_is_refused_with_its_reason(row):
    sensor("rack-a")
    [said] = imported(HEADINGS, row, pick_sensor="rack-a", zone_at="utc")
    assert said[0] == "refused"
    assert IMPOSSIBLE[row] in said[1]


def test_an_import_is_taken_back_as_a_whole_and_leaves_the_rest():
    made = sensor("rack-a")
    Reading.objects.create(sensor=made, at=NOW - 7200, celsius=2000)
    imported(HEADINGS, *ROWS, pick_sensor="rack-a", zone_at="utc")
    batches.undo(ImportBatch.objects.get(), None)
    assert list(Reading.objects.values_list("at", "celsius")) == [(NOW - 7200, 2000)]
    assert ReadingBatch.objects.count() == 0
    assert SensorState.objects.get().at == NOW - 7200


def test_without_any_sensor_the_way_out_is_said():
    assert asked(received(HEADINGS, *ROWS))["pick:sensor"] == []


def test_many_rows_are_not_many_questions(django_assert_max_num_queries):
    sensor("rack-a")
    lines = [f"2026-11-{1 + n // 144:02d} {n // 6 % 24:02d}:{n % 6}0,{20 + n % 7}.5,{50 + n % 30}" for n in range(3000)]
    batch = received(HEADINGS, *lines, pick_sensor="rack-a", zone_at="utc")
    with django_assert_max_num_queries(60):
        batches.preview(batch, TODAY)
        batches.commit(batch, batch.plan_hash, None, TODAY)
    assert Reading.objects.count() == 3000
