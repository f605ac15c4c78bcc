"""A printer's error: read off the calibration page, kept, and taken back."""

import io

import numpy as np
import pypdf
import pytest

from husbandry.labels import calibration, calibration_page, pdf
from husbandry.labels.calibration import TRUE, Axis, Calibration
from husbandry.labels.content import Kind
from husbandry.labels.items import Box, Text, overlaps
from husbandry.labels.papers import PAPERS
from husbandry.labels.run import lay_out
from tests.husbandry.labelled import MM_PER_INCH, contents, crop, dots, job, needs_poppler, raster

SHEET = PAPERS["a4-3x8"]
DPI = 600


def test_nothing_read_means_nothing_wrong():
    assert calibration.axis(10, 100, None, None) == Axis()
    assert Calibration() == TRUE


def test_a_shift_is_what_the_mark_stands_too_far():
    axis = calibration.axis(10, 100, 11.5, None)
    assert axis.shift == pytest.approx(1.5)
    assert axis.drawn(50) == pytest.approx(48.5)


def test_a_short_rule_means_that_all_is_drawn_longer():
    axis = calibration.axis(10, 100, None, 98)
    assert axis.scale == pytest.approx(0.98)
    assert axis.drawn(98) == pytest.approx(100)


def test_shift_and_scale_together_put_things_where_they_belong():
    """A printer that shrinks to 99 % and starts 2 mm late puts what is drawn at x to 2 + .99x."""
    axis = calibration.axis(10, 100, 2 + 9.9, 99)
    for wanted in (0.0, 13.0, 190.0):
        assert 2 + 0.99 * axis.drawn(wanted) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("mark", "rule", "said"),
    [(None, 93, "not printed at 100 %"), (None, 107, "not printed"), (40, None, "too far off")],
)
def test_what_cannot_be_this_page_is_refused(mark, rule, said):
    with pytest.raises(ValueError, match=said):
        calibration.axis(10, 100, mark, rule)


@pytest.mark.parametrize("key", sorted(PAPERS))
def test_the_page_fits_every_paper(key):
    paper = PAPERS[key]
    items = calibration_page.measures(paper)
    assert all(i.rect[0] >= 0 and i.rect[2] <= paper.page_width for i in items)
    assert all(i.rect[1] >= 0 and i.rect[3] <= paper.page_height for i in items)
    said = [item for item in items if isinstance(item, Text)]
    lines = [item for item in items if isinstance(item, Box)]
    assert [pair for pair in overlaps([*said, *lines]) if isinstance(pair[0], Text)] == []


def ticks(page, x, y, length, upright):
    """The middles, in mm, of the ticks of a rule, on a line 1 mm outside it."""
    window = (x - 1.05, y - 1, 0.1, length + 2) if upright else (x - 1, y - 1.05, length + 2, 0.1)
    dark = np.flatnonzero(crop(page, *window, DPI).any(axis=1 if upright else 0))
    groups = np.split(dark, np.flatnonzero(np.diff(dark) > 2) + 1)
    start = dots(window[1] if upright else window[0], DPI)
    return [(start + (group[0] + group[-1] + 1) / 2) * MM_PER_INCH / DPI for group in groups]


@needs_poppler
@pytest.mark.parametrize("upright", [False, True])
def test_the_rules_are_100_mm_long_and_their_marks_stand_on_the_millimetre(tmp_path, upright):
    page = raster(calibration_page.render(SHEET, DPI), DPI, tmp_path)[0]
    x, y = calibration.corner(SHEET)
    found = ticks(page, x, y, 100, upright)
    assert len(found) == 101
    assert found == pytest.approx([(y if upright else x) + at for at in range(101)], abs=0.05)


@needs_poppler
def test_corner_marks_stand_ten_millimetres_from_every_edge(tmp_path):
    page = raster(calibration_page.render(SHEET, DPI), DPI, tmp_path)[0]
    rows, columns = np.flatnonzero(page.any(axis=1)), np.flatnonzero(page.any(axis=0))
    dot = MM_PER_INCH / DPI
    assert [rows[0] * dot, columns[0] * dot] == pytest.approx([10, 10], abs=0.1)
    assert (columns[-1] + 1) * dot == pytest.approx(SHEET.page_width - 10, abs=0.1)
    assert (rows[-1] + 1) * dot == pytest.approx(SHEET.page_height - 10, abs=0.1)


@needs_poppler
def test_the_second_page_shows_the_frames_of_the_labels(tmp_path):
    page = raster(calibration_page.render(SHEET, DPI), DPI, tmp_path)[1]
    columns = np.flatnonzero(page.any(axis=0)) * MM_PER_INCH / DPI
    assert columns[0] == pytest.approx(SHEET.left, abs=0.1)
    assert columns[-1] == pytest.approx(SHEET.page_width - SHEET.left, abs=0.1)


@needs_poppler
def test_labels_are_drawn_where_a_wrong_printer_takes_them_to_the_right_place(tmp_path):
    """Seen through a printer that shrinks to 99 % and shifts by 1.5 and 2 mm, the frames lie on the preset again."""
    wrong = Calibration(Axis(1.5, 0.99), Axis(2.0, 0.985))
    run = lay_out(job(Kind.SPIDERLING, dpi=DPI, calibration=wrong), contents(24))
    [page] = raster(pdf.render(run, cut=True), DPI, tmp_path)
    rows, columns = (np.flatnonzero(page.any(axis=axis)) * MM_PER_INCH / DPI for axis in (1, 0))
    assert 1.5 + 0.99 * columns[0] == pytest.approx(SHEET.left, abs=0.1)
    assert 1.5 + 0.99 * columns[-1] == pytest.approx(SHEET.page_width - SHEET.left, abs=0.1)
    assert 2.0 + 0.985 * rows[0] == pytest.approx(SHEET.top, abs=0.1)
    assert 2.0 + 0.985 * rows[-1] == pytest.approx(SHEET.page_height - SHEET.top, abs=0.1)


def test_the_calibration_page_is_not_scaled_either():
    reader = pypdf.PdfReader(io.BytesIO(calibration_page.render(SHEET, DPI)))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert len(reader.pages) == 2
