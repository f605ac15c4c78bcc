"""Printing gives a clean sheet: no buttons, no wasted pages, whatever the light."""

import re

import pytest
from playwright.sync_api import expect

LIGHTS = ["day", "night", "red"]


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize(("path", "most"), [("/", 6), ("/animals/1/", 5), ("/animals/", 5)])
def test_a_page_prints_on_few_sheets(open_page, path, most, light):
    page = open_page(path)
    page.evaluate("(light) => { document.documentElement.dataset.light = light; }", light)
    sheets = len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4", prefer_css_page_size=True)))
    assert 1 <= sheets <= most


@pytest.mark.parametrize("light", LIGHTS)
def test_paper_is_white_and_has_no_buttons(open_page, light):
    page = open_page("/")
    page.evaluate("(light) => { document.documentElement.dataset.light = light; }", light)
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Taken").first).to_be_hidden()
    expect(page.locator("nav.doors")).to_be_hidden()
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.querySelector('.lede')).color") == "rgb(0, 0, 0)"
