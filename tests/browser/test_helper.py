"""A helper sees what a round needs, and no door that would not open."""

import pytest
from playwright.sync_api import expect

from tests.browser import audit
from tests.browser.conftest import PHONE, sign_in

LINKS = "(all) => [...new Set(all.map((one) => one.getAttribute('href')))].filter((to) => to.startsWith('/'))"


@pytest.mark.parametrize("path", ["/", "/animals/1/"])
def test_every_link_that_a_helper_is_shown_opens(open_page, house, path):
    page = open_page("/sign-in/", PHONE, storage_state=None)
    sign_in(page, "helper", house.passwords["helper"])
    page.goto(house.url + path)
    links = page.eval_on_selector_all("a[href]", LINKS)
    shut = {link: status for link in links if (status := page.request.get(house.url + link).status) != 200}
    assert shut == {}
    assert audit.accessibility(page) + audit.sideways(page) == []


def test_a_helpers_day_from_the_list_to_the_walk(open_page, house):
    page = open_page("/sign-in/", PHONE, storage_state=None)
    sign_in(page, "helper", house.passwords["helper"])
    row = page.locator("li.need", has=page.get_by_role("button", name="Refused")).last
    number = row.get_attribute("id")
    row.get_by_role("button", name="Taken").click()
    page.locator(f"#{number}").get_by_role("button", name="Undo").click()
    expect(page.locator("#messages")).to_contain_text("Taken back")
    page.goto(house.url + "/animals/1/")
    page.get_by_role("link", name="Note").first.click()
    page.locator("#log textarea").fill("Drank for a long time.")
    page.locator("#log button.strong").click()
    expect(page.locator("#messages")).to_contain_text("Saved.")
    page.goto(house.url + "/racks/walk/")
    page.get_by_role("button", name="The whole house").click()
    page.get_by_role("button", name="Next", exact=True).click()
    page.goto(house.url + "/racks/handover/")
    expect(page.get_by_role("heading", name="In case of a bite, a sting, or hairs in the eye")).to_be_visible()
