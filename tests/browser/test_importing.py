"""A keeper's own list comes in through the browser, is asked about where it cannot tell, and can be taken back."""

from pathlib import Path

from playwright.sync_api import expect

from tests.browser import audit
from tests.browser.conftest import PHONE

SAMPLES = Path(__file__).resolve().parents[2] / "fixtures" / "import"


def fit(page) -> None:
    """The page must stand what every page stands."""
    assert audit.lit_otherwise(page) + audit.accessibility(page) + audit.sideways(page) == []
    page.set_viewport_size(PHONE)


def bring(page, name: str) -> None:
    page.get_by_label("File").set_input_files(SAMPLES / name)
    page.get_by_role("button", name="Read this file").click()


def test_dates_that_cannot_tell_are_asked_about_and_the_whole_file_can_be_taken_back(open_page):
    page = open_page("/papers/imports/", PHONE)
    fit(page)
    bring(page, "animals_ambiguous_dates.csv")
    expect(page.get_by_role("heading", name="What do the columns hold?")).to_be_visible()
    fit(page)
    page.get_by_role("button", name="Show what becomes of every row").click()
    expect(page.get_by_role("heading", name="Only you can know this")).to_be_visible()
    fit(page)
    for question in page.locator("fieldset").all():
        question.get_by_text("day, month, year").click()
    page.get_by_role("button", name="Show what becomes of every row").click()
    expect(page.locator("main")).to_contain_text("Nothing is written yet.")
    fit(page)
    page.get_by_role("button", name="Write").click()
    expect(page.locator("main")).to_contain_text("Imported on")
    page.get_by_role("button", name="Take the whole import back").click()
    expect(page.locator("main")).to_contain_text("Taken back on")


def test_every_row_that_is_refused_says_why(open_page):
    page = open_page("/papers/imports/", PHONE)
    bring(page, "animals_messy.xlsx")
    page.get_by_role("button", name="Show what becomes of every row").click()
    page.get_by_role("link", name="Refused").click()
    rows = page.locator("tbody tr")
    reasons = rows.locator("td.lead").all_inner_texts()
    assert rows.count() > 0
    assert all(reason.strip() for reason in reasons)
    fit(page)
    page.get_by_role("button", name="Throw this file away").click()
    expect(page.get_by_role("heading", name="Spreadsheets in")).to_be_visible()
