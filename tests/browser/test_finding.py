"""One box takes a code, a tag, a label's address, a name or a taxon."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import PHONE


def tag_of_first(page) -> str:
    return page.locator(".tagcode").inner_text().replace(" ", "")


@pytest.mark.parametrize("what", ["{code}", " {small} ", "{tag}", "{url}/Q/{tag}"])
def test_the_box_leads_straight_to_the_animal(open_page, house, what):
    page = open_page("/animals/1/", PHONE)
    code = page.locator(".slip .code").first.inner_text()
    text = what.format(code=code, small=code.lower(), tag=tag_of_first(page), url=house.url)
    page.goto(house.url)
    page.get_by_label("Code, name or taxon").fill(text)
    page.get_by_role("button", name="Find").click()
    page.wait_for_url("**/animals/1/")
    expect(page.locator(".slip .code").first).to_have_text(code)


def test_a_taxon_lists_its_animals_and_nonsense_says_what_would_work(open_page):
    page = open_page("/", PHONE)
    page.get_by_label("Code, name or taxon").fill("Brachypelma")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("main")).to_contain_text("fit “Brachypelma”")
    page.get_by_role("searchbox", name="Code, name or taxon").fill("qqqq")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("main")).to_contain_text("Nothing fits “qqqq”")
