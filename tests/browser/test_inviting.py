"""The keeper invites, a helper's phone reads the code from the screen in any light, and its owner can begin."""

import io
from urllib.parse import urlsplit

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser import audit
from tests.browser.conftest import DESK, PHONE


def invite(page: Page) -> str:
    """Make a link, and return it."""
    form = page.locator("form[action$='/invite/']")
    form.get_by_label("Last day").fill("2099-08-14")
    form.get_by_role("button", name="Make the link").click()
    return page.get_by_label("Copy it").input_value()


@pytest.mark.parametrize("light", ["day", "night", "red"])
def test_the_code_on_the_screen_reads_in_every_light(open_page, light):
    page = open_page("/settings/people/", DESK)
    link = invite(page)
    page.evaluate(audit.LIGHT, light)
    shown = Image.open(io.BytesIO(page.locator(".invited-code").screenshot()))
    grey = shown.convert("L")
    assert [code.text for code in zxingcpp.read_barcodes(grey, try_invert=False)] == [link]


def test_the_page_with_the_link_is_for_everybody(open_page):
    page = open_page("/settings/people/", PHONE)
    invite(page)
    assert audit.accessibility(page) + audit.sideways(page) + audit.lit_otherwise(page) == []


def test_a_helper_follows_the_link_once(open_page, house):
    path = urlsplit(invite(open_page("/settings/people/", DESK))).path  # the address may be the labels' own
    phone = open_page(path, PHONE, storage_state=None)
    expect(phone.get_by_text("until 14 August 2099")).to_be_visible()
    assert audit.accessibility(phone) == []
    phone.get_by_label("Your name here").fill("Imre")
    phone.get_by_label("Password", exact=True).fill("birch-loam-73")
    phone.get_by_label("Password confirmation").fill("birch-loam-73")
    phone.get_by_role("button", name="Begin").click()
    expect(phone.get_by_role("button", name="Sign out Imre")).to_be_visible()
    other = open_page("/sign-in/", PHONE, storage_state=None)
    assert other.request.get(house.url + path).status == 404


def test_the_page_of_a_dead_link_is_for_everybody_too(open_page):
    page = open_page("/invited/nothing/", PHONE, storage_state=None)
    open_page.complaints.clear()  # the browser notes the 404
    expect(page.get_by_role("heading", name="This link opens nothing")).to_be_visible()
    assert audit.accessibility(page) + audit.sideways(page) == []
