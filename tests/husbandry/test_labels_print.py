"""Printed labels: every code reads back, every dot is where it should be, fonts are embedded, nothing is scaled."""

import io

import numpy as np
import pypdf
import pytest
import zxingcpp

from husbandry.labels import codes, pdf
from husbandry.labels.content import Kind, Part
from husbandry.labels.items import Code
from husbandry.labels.layout import Label
from husbandry.labels.papers import SHEETS
from husbandry.labels.run import Run, lay_out
from tests.husbandry.labelled import (
    HOUSE,
    MM_PER_INCH,
    Dots,
    contents,
    crop,
    dots,
    job,
    needs_poppler,
    raster,
    ten_longest,
)

UPRIGHT = {"formats": zxingcpp.BarcodeFormat.QRCode, "try_rotate": False, "try_downscale": False, "try_invert": False}
ALL_BUT_CUT = frozenset(Part) - {Part.CUT}
LEAN = 0.4  # mm: an italic letter leans out of its own width, into the border


def places(run: Run):
    """Each label's page and corner, in the order of printing."""
    return [run.job.paper.place(run.job.start - 1 + at) for at in range(run.count)]


def code_of(label: Label) -> Code:
    return next(item for item in label.items if isinstance(item, Code))


@needs_poppler
@pytest.mark.parametrize(
    ("dpi", "kind", "paper"),
    [(203, Kind.ENCLOSURE, "a4-3x8"), (300, Kind.ENCLOSURE, "a4-3x8"), (203, Kind.SPIDERLING, "a4-5x13")],
)
def test_every_code_of_500_labels_reads_back(tmp_path, dpi, kind, paper):
    said = contents(500)
    run = lay_out(job(kind, paper, dpi=dpi, start=4), said)
    pages = raster(pdf.render(run), dpi, tmp_path)
    size = (run.job.paper.label_width, run.job.paper.label_height)
    read = []
    for page, x, y in places(run):
        paper_white = np.where(crop(pages[page], x, y, *size, dpi), 0, 255).astype(np.uint8)
        read.append([code.text for code in zxingcpp.read_barcodes(paper_white, **UPRIGHT)])
    assert read == [[codes.url(HOUSE, content.tag)] for content in said]


@needs_poppler
@pytest.mark.parametrize(("dpi", "paper"), [(203, "roll-57x32"), (203, "a4-3x8"), (300, "a4-2x7"), (600, "a4-5x13")])
def test_a_code_is_its_modules_in_whole_dots_pixel_for_pixel(tmp_path, dpi, paper):
    run = lay_out(job(Kind.SPIDERLING, paper, dpi=dpi), contents(3))
    pages = raster(pdf.render(run), dpi, tmp_path)
    for (page, x, y), label in zip(places(run), run.labels, strict=True):
        code = code_of(label)
        left, top, edge = dots(x + code.x, dpi), dots(y + code.y, dpi), code.modules * run.dots
        modules = np.array([list(row) for row in codes.matrix(code.url)], dtype=bool)
        expected = modules.repeat(run.dots, axis=0).repeat(run.dots, axis=1)
        assert (pages[page][top : top + edge, left : left + edge] == expected).all()


@needs_poppler
def test_the_quiet_zone_of_a_code_is_white(tmp_path):
    run = lay_out(job(parts=ALL_BUT_CUT, dpi=300), ten_longest())
    [page] = raster(pdf.render(run), 300, tmp_path)
    for (_, x, y), label in zip(places(run), run.labels, strict=True):
        code = code_of(label)
        left, top = dots(x + code.x, 300), dots(y + code.y, 300)
        quiet, edge = 4 * run.dots, code.modules * run.dots
        around = page[top - quiet : top + edge + quiet, left - quiet : left + edge + quiet].copy()
        around[quiet:-quiet, quiet:-quiet] = False
        assert not around.any()


@needs_poppler
@pytest.mark.parametrize("key", sorted(SHEETS))
def test_labels_lie_within_a_tenth_of_a_millimetre_of_the_preset(tmp_path, key):
    """Lines to cut along lie 0.1 mm inside each label's edge; where labels touch, the neighbour's lies beside it."""
    dpi, paper = 600, SHEETS[key]
    run = lay_out(job(Kind.SPIDERLING, key, dpi=dpi, parts=frozenset()), contents(paper.places)[:1] * paper.places)
    [page] = raster(pdf.render(run, cut=True), dpi, tmp_path)
    for at, (_, x, y) in enumerate(places(run)):
        touches = (
            at % paper.columns and paper.pitch_x == paper.label_width,
            at >= paper.columns and paper.pitch_y == paper.label_height,
        )
        width, height = paper.label_width, paper.label_height
        for along, edge, beside in ((0, x, touches[0]), (1, y, touches[1])):
            start, end = inked(page, along, edge, (y + height / 2, x + width / 2)[along], dpi)
            assert start == pytest.approx(edge - (0.1 if beside else 0), abs=0.1)
            assert end == pytest.approx(edge + 0.1, abs=0.1)


def inked(page: Dots, along: int, edge: float, across: float, dpi: int) -> tuple[float, float]:
    """From where to where, in mm, there is ink near an edge, on a line across it."""
    near = 0.6
    begin = max(edge - near, 0)
    window = (begin, across, edge + near - begin, 0.09) if along == 0 else (across, begin, 0.09, edge + near - begin)
    dark = np.flatnonzero(crop(page, *window, dpi).any(axis=1 if along else 0))
    dot = MM_PER_INCH / dpi
    return (dots(begin, dpi) + dark[0]) * dot, (dots(begin, dpi) + dark[-1] + 1) * dot


@needs_poppler
@pytest.mark.parametrize("kind", Kind)
def test_no_ink_leaves_its_label(tmp_path, kind):
    run = lay_out(job(kind, parts=ALL_BUT_CUT, dpi=300), ten_longest())
    [page] = raster(pdf.render(run), 300, tmp_path)
    (x_border, y_border), paper = run.job.paper.border, run.job.paper
    page = page.copy()
    for _, x, y in places(run):
        inside = crop(page, x + x_border - LEAN, y + y_border - LEAN, paper.label_width - 2 * (x_border - LEAN),
                      paper.label_height - 2 * (y_border - LEAN), 300)  # fmt: skip
        assert inside.any()
        inside[:] = False
    assert not page.any()


def test_every_font_is_embedded():
    run = lay_out(job(parts=frozenset(Part)), contents(97))
    reader = pypdf.PdfReader(io.BytesIO(pdf.render(run)))
    fonts = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            found = font.get_object()
            fonts[found["/BaseFont"]] = "/FontFile2" in found["/FontDescriptor"].get_object()
    assert len(fonts) >= 3
    assert all(fonts.values()), fonts


def test_a_viewer_is_asked_not_to_scale():
    reader = pypdf.PdfReader(io.BytesIO(pdf.render(lay_out(job(), contents(1)))))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_pages_have_the_size_of_the_paper():
    run = lay_out(job(paper="roll-62x29", dpi=300), contents(3))
    pages = pypdf.PdfReader(io.BytesIO(pdf.render(run))).pages
    assert len(pages) == 3
    assert [float(v) / 72 * MM_PER_INCH for v in pages[0].mediabox[2:]] == pytest.approx([62, 29], abs=0.01)


def test_whole_names_can_be_searched_for_in_the_pdf():
    run = lay_out(job(), ten_longest())
    text = pypdf.PdfReader(io.BytesIO(pdf.render(run))).pages[0].extract_text()
    assert all(content.names[0].name in text for content in ten_longest())
    assert all(content.clear_tag in text for content in ten_longest())


def test_copies_follow_each_other_and_a_part_used_sheet_begins_where_it_was_left():
    run = lay_out(job(start=23, copies=3), contents(2))
    assert (run.count, run.pages) == (6, 2)
    tags = [[item.url[-8:] for item in page if isinstance(item, Code)] for page in pdf.pages(run)]
    first, second = (content.tag for content in contents(2))
    assert tags == [[first, first], [first, second, second, second]]
