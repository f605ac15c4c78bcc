"""Labels from the racks to paper: the address once, the choice, the PDF, and its codes read back."""

from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from tests.browser import audit
from tests.husbandry.labelled import needs_poppler, raster

ADDRESS = "http://rack.local:8000"


@pytest.fixture
def addressed(open_page):
    """The labels page, with the address of the house set through its form."""
    page = open_page("/racks/labels/address/")
    page.get_by_label("Address").first.fill(ADDRESS)
    page.get_by_role("button", name="Save").click()
    page.goto(page.url.split("/racks/")[0] + "/racks/labels/?of=animals&codes=B-001,T-001")
    return page


@needs_poppler
def test_labels_are_made_and_their_codes_open_the_animals(addressed, tmp_path: Path):
    page = addressed
    page.get_by_role("button", name="Make the PDF").click()
    page.wait_for_url("**/racks/labels/prints/*/")
    link = page.locator("a[href$='labels.pdf']").first.get_attribute("href")
    pdf = page.request.get(page.url.split("/racks/")[0] + link).body()
    assert pdf.startswith(b"%PDF")
    sheet = Image.fromarray(~raster(pdf, 300, tmp_path)[0])
    found = {code.text for code in zxingcpp.read_barcodes(sheet.convert("L"))}
    assert len(found) == 2
    for text in found:
        assert text.startswith(f"{ADDRESS.upper()}/Q/")
        page.goto(page.url.split("/racks/")[0].split("/animals/")[0] + "/Q/" + text.rsplit("/", 1)[1])
        assert "/animals/" in page.url or "/walks/" in page.url  # a walk that is open takes the scan to its card


def test_the_labels_page_with_its_preview_is_fit_for_everybody(addressed):
    page = addressed
    assert page.locator("#label-preview svg").count() > 0
    for width in (390, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        assert audit.accessibility(page) + audit.sideways(page) == []
