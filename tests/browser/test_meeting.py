"""A meeting logged on the phone: cautions first, one tap a sign, each undone by one more; nothing is lost."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import audit
from tests.browser.conftest import PHONE

LIVE = "/breeding/pairings/7/live/"
SMALL = """() => [...document.querySelectorAll("[data-thumb] :is(button, a)")].map((one) => one.getBoundingClientRect())
  .filter(({height, width, bottom}) => height < 64 || width < 64 || bottom > innerHeight + 0.5).length"""


def press(page, name: str) -> None:
    """One tap, until the page says that it is noted; and a moment until a slip is no longer feared."""
    page.locator(f"[data-do={name}]").click()
    expect(page.locator("[data-say]")).to_contain_text("Noted")
    page.wait_for_timeout(260)


def saved(page) -> None:
    expect(page.locator("[data-waiting]")).to_have_text("all saved")


def ended(page, how: str) -> None:
    """Say that it is over, and how."""
    page.locator("[data-do=end]").click()
    page.get_by_role("dialog").get_by_role("button", name=how).click()
    expect(page.locator("[data-card]")).to_contain_text("Over after")


def test_a_meeting_from_the_cautions_to_its_row_and_taken_back(open_page):
    page = open_page(LIVE, PHONE)
    expect(page.locator("[data-card]")).to_contain_text("Before he goes in")
    for name in ("begin", "drum_him", "left", "right", "right"):
        press(page, name)
    press(page, "undo")
    expect(page.locator("[data-card]")).to_contain_text("1 × insertion left, 1 × insertion right")
    ended(page, "parted in peace")
    saved(page)
    page.get_by_role("link", name="What to do next").click()
    expect(page.locator("tbody tr").last).to_contain_text(re.compile("1.*1.*yes.*parted in peace"))
    page.go_back()
    page.reload()  # the meeting is over: the page begins anew
    expect(page.locator("[data-do=begin]")).to_be_visible()


def test_a_meeting_goes_on_after_the_page_was_loaded_anew(open_page):
    page = open_page(LIVE, PHONE)
    press(page, "begin")
    press(page, "left")
    saved(page)
    page.reload()
    expect(page.locator("[data-do=left]")).to_contain_text("1 ×")
    ended(page, "not seen")
    press(page, "undo")
    expect(page.locator("[data-do=left]")).to_contain_text("1 ×")
    ended(page, "left together")
    saved(page)


def test_without_the_house_taps_wait_on_the_phone_and_go_by_themselves(open_page):
    page = open_page(LIVE, PHONE)
    press(page, "begin")
    saved(page)
    page.context.set_offline(True)
    press(page, "contact")
    ended(page, "not seen")
    expect(page.locator("[data-waiting]")).to_have_text("2 noted")
    expect(page.locator("[data-log] li").first).to_contain_text("noted")
    page.context.set_offline(False)
    saved(page)
    expect(page.locator("[data-log] li").first).to_contain_text("saved")
    assert all("ERR_INTERNET_DISCONNECTED" in said for said in open_page.complaints)
    open_page.complaints.clear()


def test_without_scripts_it_is_logged_afterwards(open_page):
    page = open_page(LIVE, PHONE, java_script_enabled=False)
    page.get_by_role("link", name="Log it afterwards").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Log a meeting")


@pytest.mark.parametrize("size", [(390, 844), (390, 664), (320, 568), (844, 390)])
def test_every_sign_is_large_enough_within_reach_and_red_in_red_light(open_page, size):
    page = open_page(LIVE, {"width": size[0], "height": size[1]})
    press(page, "begin")
    assert page.evaluate(SMALL) == 0
    assert page.locator("[data-clock]").bounding_box()["height"] > 16
    assert page.locator("[data-card]").bounding_box()["height"] > 48
    page.evaluate(audit.LIGHT, "red")
    page.wait_for_timeout(200)
    assert audit.lit_otherwise(page) == []
    press(page, "undo")
