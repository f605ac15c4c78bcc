"""Dates as a keeper writes and reads them; forms of ISO 8601-1:2019."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.dates import FuzzyDate, say_date, say_days, say_length

TODAY = date(2026, 11, 25)
days = st.dates(date(1900, 1, 1), date(2999, 12, 31))
fuzzy = st.tuples(days, st.integers(0, 800)).map(lambda pair: FuzzyDate(pair[0], pair[0] + timedelta(days=pair[1])))


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("2025-03-14", date(2025, 3, 14), date(2025, 3, 14)),
        ("2025-03", date(2025, 3, 1), date(2025, 3, 31)),
        ("2024-02", date(2024, 2, 1), date(2024, 2, 29)),
        ("2025", date(2025, 1, 1), date(2025, 12, 31)),
        ("2025-03-01/2025-03-15", date(2025, 3, 1), date(2025, 3, 15)),
        ("2025-03/2025-05", date(2025, 3, 1), date(2025, 5, 31)),
        (" 2024/2025 ", date(2024, 1, 1), date(2025, 12, 31)),
    ],
)
def test_a_date_is_read_with_the_precision_it_was_written_in(text, earliest, latest):
    assert FuzzyDate.parse(text) == FuzzyDate(earliest, latest)


@pytest.mark.parametrize("text", ["2025-03-14", "2025-03", "2025", "2025-03-01/2025-03-15", "2025-12", "2024-02"])
def test_a_reduced_date_stays_reduced(text):
    assert str(FuzzyDate.parse(text)) == text


@given(fuzzy)
def test_what_is_written_is_read_again(when):
    assert FuzzyDate.parse(str(when)) == when


@given(fuzzy)
def test_the_middle_lies_inside(when):
    assert when.earliest <= when.middle <= when.latest
    assert when.exact == (when.days == 0)
    assert (when.middle - when.earliest).days in {when.days // 2, (when.days - 1) // 2}


@pytest.mark.parametrize(
    "text",
    ["", "yesterday", "14.3.2025", "2025-3-14", "25-03-14", "2025-03-14/", "/2025", "2025-03/2025-04/2025", "２０２５"],
)
def test_what_is_no_date_is_refused_with_the_way_to_write_one(text):
    with pytest.raises(ValueError, match=r"is not a date\. Write a date as 2025-03-14"):
        FuzzyDate.parse(text)


@pytest.mark.parametrize("text", ["2025-02-29", "2025-13", "2025-00", "2025-04-31", "0000", "2025-01-01/2025-02-30"])
def test_days_missing_from_the_calendar_are_refused(text):
    with pytest.raises(ValueError, match="in the calendar"):
        FuzzyDate.parse(text)


def test_a_range_that_runs_backwards_is_refused():
    with pytest.raises(ValueError, match="ends before it begins"):
        FuzzyDate.parse("2025-03-15/2025-03-01")


def test_dates_sort_by_their_first_day():
    written = ["2025-03-14", "2025-03", "2024", "2025-03-02"]
    assert [str(when) for when in sorted(map(FuzzyDate.parse, written))] == [
        "2024",
        "2025-03",
        "2025-03-02",
        "2025-03-14",
    ]


@pytest.mark.parametrize(
    ("n", "said"),
    [
        (0, "today"),
        (1, "yesterday"),
        (-1, "tomorrow"),
        (2, "2 days ago"),
        (19, "19 days ago"),
        (60, "60 days ago"),
        (61, "2 months ago"),
        (400, "13 months ago"),
        (731, "2 years ago"),
        (2000, "5 years ago"),
        (-3, "in 3 days"),
        (-90, "in 3 months"),
    ],
)
def test_days_are_said_as_a_keeper_says_them(n, said):
    assert say_days(n) == said


@given(st.integers(-40_000, 40_000))
def test_no_count_of_days_is_said_with_one_of_a_plural(n):
    assert not say_days(n).startswith(("1 ", "in 1 ", "0 ", "in 0 "))


@pytest.mark.parametrize(
    ("when", "said"),
    [
        (date(2026, 12, 4), "4 December"),
        (date(2025, 12, 4), "4 December 2025"),
        (FuzzyDate.parse("2026-03-14"), "14 March"),
        (FuzzyDate.parse("2026-03"), "March"),
        (FuzzyDate.parse("2025-03"), "March 2025"),
        (FuzzyDate.parse("2026"), "2026"),
        (FuzzyDate.parse("2026-03-01/2026-03-15"), "1 March to 15 March"),
        (FuzzyDate.parse("2025-12-20/2026-01-10"), "20 December 2025 to 10 January"),
    ],
)
def test_the_year_is_said_when_it_is_another(when, said):
    assert say_date(when, TODAY) == said


def test_without_a_today_the_year_is_always_said():
    assert say_date(date(2026, 12, 4)) == "4 December 2026"


def test_one_day_is_one_day():
    assert [say_length(days) for days in (0, 1, 2)] == ["0 days", "1 day", "2 days"]
