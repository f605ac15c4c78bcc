"""Papers: the presets as stock is cut, the keeper's own, and what cannot be a paper."""

from dataclasses import replace

import pytest

from husbandry.labels.papers import A4, LETTER, PAPERS, ROLLS, SHEETS, Paper, roll
from tests import reference

ROWS = reference.rows("label_papers")


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_a_preset_is_cut_as_the_stock_is(row):
    paper = PAPERS[row["id"]]
    page = {"A4": A4, "Letter": LETTER}[row["page"]]
    assert (paper.page_width, paper.page_height) == page
    assert (paper.columns, paper.rows) == (int(row["columns"]), int(row["rows"]))
    given = [float(row[key]) for key in ("width", "height", "left", "top", "pitch_x", "pitch_y")]
    assert [
        paper.label_width, paper.label_height, paper.left, paper.top, paper.pitch_x, paper.pitch_y
    ] == given  # fmt: skip


def test_every_sheet_has_a_row_in_the_reference():
    assert {row["id"] for row in ROWS} == set(SHEETS)


@pytest.mark.parametrize("key", sorted(PAPERS))
def test_every_preset_is_a_possible_paper(key):
    PAPERS[key].check()


@pytest.mark.parametrize("key", sorted(SHEETS))
def test_a_sheet_lies_in_the_middle_of_its_page(key):
    """Stock is cut symmetrically: right margin as left, bottom as top, to the tenth the figures are given in."""
    paper = SHEETS[key]
    page, x, y = paper.place(paper.places - 1)
    assert page == 0
    assert paper.page_width - x - paper.label_width == pytest.approx(paper.left, abs=0.11)
    assert paper.page_height - y - paper.label_height == pytest.approx(paper.top, abs=0.11)


def test_places_go_along_rows_and_over_to_the_next_page():
    paper = PAPERS["a4-3x8"]
    assert paper.place(0) == (0, 7.25, 12.9)
    assert paper.place(2) == (0, 139.25, 12.9)
    assert paper.place(3) == (0, 7.25, pytest.approx(46.8))
    assert paper.place(24) == (1, 7.25, 12.9)


def test_a_part_used_sheet_takes_fewer_labels():
    paper = PAPERS["a4-3x8"]
    assert [paper.pages(19, 6), paper.pages(20, 6), paper.pages(1, 24), paper.pages(2, 24)] == [1, 2, 1, 2]


def test_each_label_of_a_roll_is_a_page():
    paper = PAPERS["roll-57x32"]
    assert paper.is_roll
    assert paper.place(3) == (3, 0.0, 0.0)


def test_labels_at_the_edge_of_a_sheet_keep_clear_of_what_printers_cannot_reach():
    across, down = PAPERS["a4-3x8-full"].border
    assert across >= 4.5
    assert PAPERS["a4-3x8-full"].top + down >= 4.5


def test_rolls_keep_a_border_for_the_drift_of_the_paper():
    assert {paper.border for paper in ROLLS.values()} == {(1.5, 1.5)}


SHEET = Paper("own", *A4, 60, 30, 3, 8, 10, 20, 64, 31)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"label_width": 5}, "between 10 and 320 mm"),
        ({"columns": 0}, "between 1 and 400 labels"),
        ({"pitch_x": 59}, "overlap"),
        ({"pitch_y": 29}, "overlap"),
        ({"left": -1}, "outside the page"),
        ({"columns": 4}, "262 mm, but the page is 210 mm wide"),
        ({"top": 60}, "307 mm, but the page is 297 mm high"),
    ],
)
def test_a_paper_that_cannot_be_is_refused_with_a_sentence(change, said):
    with pytest.raises(ValueError, match=said):
        replace(SHEET, **change).check()


def test_an_own_roll_and_an_own_sheet_are_papers():
    SHEET.check()
    roll(45, 22.5).check()
