"""Files as loggers write them: two columns of time, units in a row or a cell, °F, commas, old encodings, zones."""

from datetime import UTC, date, datetime, time
from io import BytesIO

import pytest
from openpyxl import Workbook

from collection.importing import batches
from collection.models import ImportBatch
from husbandry.models import Reading, Sensor
from tests.husbandry.sensors import sensor

TODAY = date(2026, 12, 4)
pytestmark = [pytest.mark.django_db, pytest.mark.time_machine("2026-12-04T09:00:00+00:00", tick=False)]
ONE = [("2026-12-01 10:00", 2450, 6120)]


def received(content: bytes | str, **answers: str) -> ImportBatch:
    if not Sensor.objects.exists():
        sensor("rack-a")
    data = content.encode() if isinstance(content, str) else content
    batch = batches.receive(data, "logger.csv", "readings", None, TODAY)
    named = {"pick:sensor": "rack-a", **{name.replace("_", ":"): answer for name, answer in answers.items()}}
    batches.settle(batch, batches.table_of(batch), batch.columns, named)
    return batch


def asked(batch: ImportBatch) -> dict[str, list[str]]:
    questions = batches.open_questions(batch, batches.table_of(batch), TODAY).questions
    return {question.key: [choice.example for choice in question.choices] for question in questions}


def stored(content: bytes | str, **answers: str) -> list[tuple[str, int | None, int | None]]:
    batch = received(content, **{"zone_at": "utc", **answers})
    batches.preview(batch, TODAY)
    batches.commit(batch, batch.plan_hash, None, TODAY)
    rows = Reading.objects.order_by("at").values_list("at", "celsius", "humidity")
    return [(f"{datetime.fromtimestamp(at, UTC):%Y-%m-%d %H:%M}", celsius, share) for at, celsius, share in rows]


SHAPES = {
    "date and time in two columns": "Date,Time,Temperature,Humidity\n2026-12-01,10:00,24.5,61.2",
    "the time before the date": "Time,Date,Temperature,Humidity\n10:00:00,2026-12-01,24.5,61.2",
    "German, with semicolons and commas": "Datum;Uhrzeit;Temperatur;Luftfeuchte\n01.12.2026;10:00;24,5;61,2",
    "a time with dots": "Datum;Zeit;Temperatur;Feuchte\n01.12.2026;10.00 Uhr;24,5;61,2",
    "midnight in the column of the date": "Date,Time,Temp,RH\n2026-12-01 00:00:00,10:00,24.5,61.2",
    "units in a row": "Date;Time;Temp;RH\nyyyy-mm-dd;hh:mm;°C;%\n2026-12-01;10:00;24.5;61.2",
    "°F in a row of units": "Time;Temp;RH\n;°F;%RH\n2026-12-01 10:00;76.1;61.2",
    "°F in the heading": "Time,Temp (°F),RH (%)\n2026-12-01 10:00,76.1,61.2",
    "°F in the cell": "Time,Temp,RH\n2026-12-01 10:00,76.1 °F,61.2 %RH",
    "°C in the cell": "Time;Temp;RH\n2026-12-01 10:00;24,5°C;61,2%",
    "half of the day": "Date,Time,Temp,RH\n2026-12-01,10:00:00 AM,24.5,61.2",
    "half of the day in one column": "Timestamp,Temp,RH\n12/01/2026 10:00 AM,24.5,61.2",
    "an offset": "Timestamp,Temp,RH\n2026-12-01T11:00:00+01:00,24.5,61.2",
    "a zone by name": "Timestamp,Temp,RH\n2026-12-01 10:00:00 UTC,24.5,61.2",
    "a zone in the heading": '#,"Date Time, GMT+01:00","Temp, °C","RH, %"\n1,2026-12-01 11:00,24.5,61.2',
    "lines above the headings": "Logger 7\nSerial,1234\nTime,Temp,RH\n2026-12-01 10:00,24.5,61.2",
    "tabs": "Time\tTemp\tRH\n2026-12-01 10:00\t24,5\t61,2",
    "the delimiter said first": "sep=;\nTime;Temp;RH\n2026-12-01 10:00;24,5;61,2",
}


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_of_a_file_gives_the_same_reading(shape):
    assert stored(SHAPES[shape], dates_at="mdy") == ONE


@pytest.mark.parametrize("codec", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_gives_the_same_reading(codec):
    assert stored(SHAPES["°F in the heading"].encode(codec)) == ONE


def test_a_workbook_with_dates_and_times_in_two_columns_is_read():
    book, file = Workbook(), BytesIO()
    book.active.append(["Date", "Time", "Temperature", "Humidity"])
    book.active.append([date(2026, 12, 1), time(10), 24.5, 61.2])
    book.save(file)
    assert stored(file.getvalue()) == ONE


def test_a_zone_that_the_heading_names_is_not_asked_for():
    assert asked(received('"Date Time, GMT+01:00",Temp\n2026-12-01 11:00,24.5')) == {}
    assert list(asked(received("Date,Time,Temp\n2026-12-01,11:00,24.5"))) == ["zone:at"]


def test_a_day_that_could_be_a_month_is_asked_for_and_read_as_said():
    file = "Date,Time,Temp,RH\n03/04/2026,10:00,24.5,61.2"
    examples = asked(received(file))["dates:at"]
    assert any("3 April" in said for said in examples)
    assert any("4 March" in said for said in examples)
    assert stored(file, dates_at="dmy")[0][0] == "2026-04-03 10:00"


def test_a_date_without_its_time_and_a_time_without_its_date_are_refused():
    batch = received("Date,Time,Temp\n2026-12-01,,24.5\n,10:00,24.5\n2026-12-01,25:10,24.5", zone_at="utc")
    batches.preview(batch, TODAY)
    said = [" ".join(lines) for *_, lines in batch.rows]
    assert "needs a day and a time of day" in said[0]
    assert "No time: when was this measured?" in said[1]
    assert "Date, Time: “2026-12-01 25:10” has no time of the clock" in said[2]
