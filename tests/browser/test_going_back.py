"""Back and reload always give whole pages: filters live in the address."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK


def whole(page) -> None:
    expect(page.locator("header.top")).to_have_count(1)
    expect(page.locator("h1")).to_have_count(1)
    expect(page.locator("main")).to_have_count(1)


def test_a_filter_of_the_register_survives_reload_and_back(open_page):
    page = open_page("/animals/", DESK)
    everybody = page.locator("#register caption").inner_text()
    page.get_by_label("Group", exact=True).select_option("scorpion")
    page.wait_for_url("**/animals/?*group=scorpion*")
    expect(page.locator("#register caption")).not_to_have_text(everybody)
    scorpions = page.locator("#register caption").inner_text()
    page.reload()
    whole(page)
    expect(page.locator("#register caption")).to_have_text(scorpions)
    page.locator("#register td.who a").first.click()
    expect(page.get_by_role("navigation", name="Log something")).to_be_visible()
    page.go_back()
    whole(page)
    expect(page.get_by_label("Group", exact=True)).to_have_value("scorpion")
    expect(page.locator("#register caption")).to_have_text(scorpions)
    page.go_back()
    whole(page)
    expect(page.locator("#register caption")).to_have_text(everybody)


def test_the_days_list_survives_reload_and_back_after_a_row_was_done(open_page):
    page = open_page("/?show=due", DESK)
    row = page.locator("li.need", has=page.get_by_role("button", name="Refused")).first
    row_id = row.get_attribute("id")
    row.get_by_role("button", name="Refused").click()
    undo = page.locator(f"#{row_id}").get_by_role("button", name="Undo")
    expect(undo).to_be_visible()
    undo.click()
    expect(page.locator("#messages")).to_contain_text("Taken back")
    page.get_by_role("navigation", name="Narrow the list").get_by_role("link", name="Held").click()
    page.go_back()
    whole(page)
    page.reload()
    whole(page)
    expect(page.locator(f"#{row_id}")).to_be_visible()


def test_the_register_filters_without_scripts_too(open_page):
    page = open_page("/animals/", DESK, java_script_enabled=False)
    page.get_by_label("Group", exact=True).select_option("scorpion")
    page.get_by_role("button", name="Show").click()
    assert "group=scorpion" in page.url
    whole(page)


LISTS = {
    "/animals/?page=2": "Animals",
    "/papers/taxa/?group=scorpion": "Taxa",
    "/breeding/pairings/": "Pairings",
    "/breeding/sacs/": "Sacs",
    "/breeding/": "Sac or molt",
    "/racks/": "Racks",
    "/papers/contacts/": "Contacts",
    "/papers/arrivals/": "Arrivals",
    "/papers/imports/": "Spreadsheets in",
}


@pytest.mark.parametrize("path", LISTS)
def test_every_list_is_whole_after_reload_and_after_coming_back(open_page, house, path):
    page = open_page(path, DESK)
    for again in (page.reload, lambda: page.goto(house.url + "/settings/") and page.go_back()):
        again()
        whole(page)
        expect(page.get_by_role("heading", level=1)).to_have_text(LISTS[path])
        assert page.url == house.url + path
