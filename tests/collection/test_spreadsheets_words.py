"""The words keepers write for sex, number, stage, yes and no."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.spreadsheets.cells import Misread
from collection.spreadsheets.counts import CountReading, read_count, read_yes_no
from collection.spreadsheets.lifestages import StageReading, read_stage
from collection.spreadsheets.sexes import read_sex
from collection.stages import Stage


@pytest.mark.parametrize(
    ("text", "counts", "confident"),
    [
        ("0.1", (0, 1, 0), True),
        ("0,1", (0, 1, 0), True),
        ("1.0", (1, 0, 0), True),
        ("1", (1, 0, 0), False),
        ("0.0.1", (0, 0, 1), False),
        ("1.2.5", (1, 2, 5), True),
        ("1/2/5", (1, 2, 5), True),
        ("0.1?", (0, 1, 0), False),
        ("F", (0, 1, 0), True),
        ("f?", (0, 1, 0), False),
        ("female", (0, 1, 0), True),
        ("Female (confirmed)", (0, 1, 0), True),
        ("probably female", (0, 1, 0), False),
        ("susp. male", (1, 0, 0), False),
        ("female, ventral", (0, 1, 0), False),
        ("w", (0, 1, 0), True),
        ("weiblich", (0, 1, 0), True),
        ("vermutlich Weibchen", (0, 1, 0), False),
        ("♀", (0, 1, 0), True),
        ("♂", (1, 0, 0), True),
        ("Bock", (1, 0, 0), True),
        ("pair", (1, 1, 0), True),
        ("communal x12", (0, 0, 12), False),
        ("culture ca. 200", (0, 0, 200), False),
        ("unsexed", (0, 0, 0), False),
        ("u", (0, 0, 0), False),
        ("?", (0, 0, 0), False),
        ("", (0, 0, 0), False),
        ("0.0.0", (0, 0, 0), False),
    ],
)
def test_sexes_as_keepers_write_them(text: str, counts: tuple[int, int, int], confident: bool) -> None:
    reading = read_sex(text)
    assert (reading.males, reading.females, reading.unsexed) == counts
    assert reading.confident is confident


@pytest.mark.parametrize(
    ("text", "finding", "stage"),
    [
        ("MM", "male", Stage.MATURE_MALE),
        ("mature male", "male", Stage.MATURE_MALE),
        ("MF", "female", Stage.ADULT),
        ("adult female", "female", Stage.ADULT),
        ("female adult", "female", Stage.ADULT),
        ("SAF", "female", Stage.SUBADULT),
        ("penult male", "male", Stage.SUBADULT),
        ("1.1", "", None),
        ("0.3", "female", None),
    ],
)
def test_short_forms_name_sex_and_stage(text: str, finding: str, stage: Stage | None) -> None:
    reading = read_sex(text)
    assert (reading.finding, reading.stage) == (finding, stage)


@pytest.mark.parametrize("text", ["spider", "2005-02-01", "xx", "yes"])
def test_what_is_no_sex_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(Misread, match=r"Write F, M, 0\.1"):
        read_sex(text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12", CountReading(12)),
        ("x 5", CountReading(5)),
        ("x5", CountReading(5)),
        ("5x", CountReading(5)),
        ("12 Stk", CountReading(12)),
        ("communal x12", CountReading(12, group=True)),
        ("group of 8", CountReading(8, group=True)),
        ("8er Gruppe", None),
        ("12 in communal", CountReading(12, group=True)),
        ("ca. 50", CountReading(50, exact=False)),
        ("50+", CountReading(50, exact=False)),
        ("10-15", CountReading(10, exact=False)),
        ("culture ~200", CountReading(200, exact=False, group=True)),
        ("pair", CountReading(2, group=True)),
    ],
)
def test_counts_as_keepers_write_them(text: str, expected: CountReading | None) -> None:
    if expected is None:
        with pytest.raises(Misread, match="not a number of animals"):
            read_count(text)
    else:
        assert read_count(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("sling", StageReading(Stage.YOUNG)),
        ("juv.", StageReading(Stage.GROWING)),
        ("Subadult", StageReading(Stage.SUBADULT)),
        ("adult", StageReading(Stage.ADULT)),
        ("MM", StageReading(Stage.MATURE_MALE, sex="male")),
        ("L3", StageReading(instar=3, convention="L")),
        ("FH2", StageReading(instar=2, convention="L")),
        ("2. FH", StageReading(instar=2, convention="L")),
        ("2i", StageReading(instar=2, convention="i")),
        ("i4", StageReading(instar=4, convention="i")),
        ("3rd instar", StageReading(instar=3, convention="i")),
        ("N1", StageReading(instar=1, convention="N")),
        ("5", StageReading(instar=5)),
        ("?", None),
    ],
)
def test_stages_keep_the_way_instars_are_counted(text: str, expected: StageReading | None) -> None:
    assert read_stage(text) == expected


def test_a_stage_nobody_knows_is_refused() -> None:
    with pytest.raises(Misread, match="not a stage"):
        read_stage("teenager")


@pytest.mark.parametrize(
    ("text", "expected"),
    [("yes", True), ("x", True), ("Ja", True), ("✓", True), ("n", False), ("nein", False), ("", None), ("?", None)],
)
def test_yes_and_no_in_both_languages(text: str, expected: bool | None) -> None:
    assert read_yes_no(text) is expected


def test_neither_yes_nor_no_is_refused() -> None:
    with pytest.raises(Misread):
        read_yes_no("perhaps")


@given(st.text(max_size=25))
def test_no_text_breaks_the_readers(text: str) -> None:
    for reader in (read_sex, read_count, read_stage, read_yes_no):
        with suppress(Misread):
            reader(text)


@given(st.integers(0, 99), st.integers(0, 99), st.integers(0, 99))
def test_the_trades_count_comes_back_as_it_was_written(males: int, females: int, unsexed: int) -> None:
    reading = read_sex(f"{males}.{females}.{unsexed}")
    assert (reading.males, reading.females, reading.unsexed) == (males, females, unsexed)
